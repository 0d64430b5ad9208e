"""Imports all modules and runs commands in a process from which POSIX is hidden; started by test_without_posix.

    python desk_without_posix.py FOLDER PADDOCK.toml SCENARIO.toml

Prints one JSON document: modules imported, what could not be, and the exit code of each command.
"""

import no_posix

if __name__ in ("__main__", "__mp_main__"):  # here and in worker processes, not where tests are collected
    no_posix.hide()

import importlib
import json
import os
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]


def modules() -> list[str]:
    """Names of all modules of the three packages."""
    names = []
    for room in ("sim", "scenarios", "analysis"):
        for path in sorted((ROOT / room).rglob("*.py")):
            parts = path.relative_to(ROOT).with_suffix("").parts
            names.append(".".join(parts[:-1] if parts[-1] == "__init__" else parts))
    return names


def failed_imports(names: list[str]) -> dict[str, str]:
    """What each module that cannot be imported says."""
    failed = {}
    for name in names:
        try:
            importlib.import_module(name)
        except Exception as error:  # all are told at once
            failed[name] = f"{type(error).__name__}: {error}"
    return failed


def commands(folder: Path, paddock: str, scenario: str) -> dict[str, int]:
    """Exit codes; the paddock on two threads, and on two processes."""
    from analysis.cli.main import main  # noqa: PLC0415
    from analysis.paddock import batch  # noqa: PLC0415

    codes = {"threads": main(["paddock", paddock, "--out", str(folder / "threads.h5"), "--workers", "2"])}
    batch.MOST_THREADS, batch.WORTH_PROCESSES = 1, 0.0
    codes["processes"] = main(["paddock", paddock, "--out", str(folder / "processes.h5"), "--workers", "2"])
    codes["run"] = main(["run", scenario, "--save", str(folder / "run.h5"), "--figure", str(folder / "run.png")])
    codes["report"] = main(["report", str(folder / "threads.h5"), "--out", str(folder / "page.html")])
    listed = ["--pressures", "60:70:10", "--speeds", "7", "--seeds", "1"]
    codes["window"] = main(["window", scenario, *listed, "--workers", "2"])
    return codes


def run() -> None:
    """Read the command line, do it, print what was found as the last line."""
    names = modules()
    found = {"modules": len(names), "failed": failed_imports(names)}
    hidden = [name for name in sorted(no_posix.FUNCTIONS) if hasattr(os, name)]
    if not found["failed"]:
        found["codes"] = commands(Path(sys.argv[1]), sys.argv[2], sys.argv[3])
    sys.stdout.write("\n" + json.dumps({**found, "not_hidden": hidden}) + "\n")


if __name__ == "__main__":
    run()
