"""Readings of a soil with hysteresis, which the model has not: made by a copy of the program with another disc law.

Soil that the disc sinks into bears a fifth more than at level travel, soil that it rises from a fifth less (a smooth
step over ±2 % of slope); invented, to see what a fit makes of a law that it does not know.
"""

from __future__ import annotations

import atexit
import json
import os
import shutil
import subprocess
import sys
import tempfile
from dataclasses import asdict
from functools import cache
from pathlib import Path

from analysis.fit.reading.readings import Reading
from tests.support.broken import ROOT, SUPPORT, Fault, broken

LAW = Fault(
    "sim/laws/disc.py",
    "edge = per_length * (chord + radius * s)",
    "edge = per_length * (chord + radius * s) * (1.0 + 0.2 * s * (1.0 / (0.02 + root(s * s))))",
    "",
)
LIMIT = 900.0  # for one afternoon, the first with its compiling [s]


@cache
def _copy() -> Path:
    """A copy of the program with the other law, gone when this process ends."""
    folder = Path(tempfile.mkdtemp(prefix="other-soil-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    for room in ("sim", "scenarios", "analysis", SUPPORT, "tests/fit_proof"):
        shutil.copytree(ROOT / room, folder / room, ignore=shutil.ignore_patterns("__pycache__"))
    broken(folder, LAW)
    return folder


def readings_there(number: int) -> tuple[Reading, ...]:
    """The readings of a trial's afternoon where the soil has hysteresis."""
    folder = _copy()
    done = subprocess.run(
        [sys.executable, "-B", "-m", "tests.fit_proof.other_soil", str(number)], cwd=folder, capture_output=True,
        encoding="utf-8", timeout=LIMIT, check=True,
        env={**os.environ, "PYTHONPATH": str(folder), "XDG_CACHE_HOME": str(folder / "cache")},
    )  # fmt: skip
    return tuple(Reading(**one) for one in json.loads(done.stdout))


def main() -> None:
    from tests.fit_proof.field import field  # noqa: PLC0415 (which reads this file)

    made = field(int(sys.argv[1]))
    sys.stdout.write(json.dumps([asdict(reading) for reading in made.readings]))


if __name__ == "__main__":
    main()
