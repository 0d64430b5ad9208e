"""Benchmarks are run by hand: the test run takes only the test files here."""

collect_ignore_glob = ["in_*.py", "*_timed.py", "*_rate.py", "engines.py", "full_model.py", "clock.py", "bare.py"]
