# A thin cover over run.py, which is the real thing and needs no make.
PYTHON ?= python3

.PHONY: demo serve test lint bench lock setup
demo serve test lint bench lock setup:
	@$(PYTHON) run.py $@
