"""Timings side by side; run with `python -m tests.benchmarks.full_model` and `python -m tests.benchmarks.engines`."""

import os

os.environ["ROWBENCH_ANEW"] = "yes"  # what is timed is crossed
