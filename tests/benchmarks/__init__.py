"""Benchmarks of the engine: `python -m tests.benchmarks`, described in README.md beside this."""
