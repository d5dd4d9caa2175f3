"""Benchmarks a reader can run: `python -m benchmarks.job`."""
