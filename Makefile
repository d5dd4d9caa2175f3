# A thin cover over run.py, which is the real thing and needs no make.
PYTHON ?= python3

.PHONY: demo test lint bench lock setup
demo test lint bench lock setup:
	@$(PYTHON) run.py $@
