"""Sources broken on purpose: a copy of the rooms, a piece of text in it changed, and the tests run on the copy."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterable, Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import NamedTuple

from forked import ALLOWED, Forked

ROOT = Path(__file__).parents[2]
SUPPORT = "tests/support"
LEFT_OUT = shutil.ignore_patterns("*.nb[ic]")  # bytecode of what is not changed holds for the copy too
PLAIN = {"NUMBA_DISABLE_JIT": "1"}
LIMIT = 600.0  # for the tests of one copy, most of it compiling [s]


class Fault(NamedTuple):
    """A piece of source text, what takes its place, and the test that must notice."""

    file: str
    text: str
    broken: str
    notices: str
    compiled: bool = False  # the test needs compiled code; else it runs as plain Python, without waiting for it


def copied(folder: Path, tests: Iterable[str], rooms: Iterable[str] = ("sim", "scenarios", "analysis")) -> None:
    """Rooms, what tests share, and the files of these tests, in a folder of their own."""
    for room in (*rooms, SUPPORT):
        shutil.copytree(ROOT / room, folder / room, ignore=LEFT_OUT)
    for test in {name.split("::")[0] for name in tests}:
        (folder / test).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / test, folder / test)


def broken(folder: Path, fault: Fault) -> None:
    """Put the fault into the copy."""
    source = folder / fault.file
    sound = source.read_text(encoding="utf-8")
    assert sound.count(fault.text) == 1, f"{fault.file} no longer holds what this test breaks: {fault.text}"
    source.write_text(sound.replace(fault.text, fault.broken), encoding="utf-8")


def run(
    folder: Path, *tests: str, compiled: bool, to_the_end: bool = False, forked: Forked | None = None
) -> subprocess.CompletedProcess[str]:
    """Run tests on a copy, as plain Python or compiled into a cache of its own; to_the_end: not only to the first that
    fails; forked: what runs those of plain Python, without importing libraries anew.
    """
    paths = (folder, folder / SUPPORT)
    words = ["-q", *(() if to_the_end else ("-x",)), "-rfE", "--rootdir", str(folder), "-p", "no:cacheprovider", *tests]
    own = {"XDG_CACHE_HOME": str(folder / "cache"), "PYTHONPATH": os.pathsep.join(map(str, paths))}
    if forked is not None and not compiled:
        return forked.run(folder, words, paths, own, LIMIT)
    how = {"NUMBA_CACHE_DIR": str(folder / "compiled")} if compiled else PLAIN
    return subprocess.run(
        [sys.executable, "-B", "-m", "pytest", *words], cwd=folder, capture_output=True, encoding="utf-8",
        timeout=LIMIT, check=False, env={**os.environ, **how, **own},
    )  # fmt: skip


def on_a_copy(folder: Path, fault: Fault, forked: Forked | None = None) -> subprocess.CompletedProcess[str]:
    """Copy the sources and the test, put the fault in, and run the test that must notice it."""
    copied(folder, [fault.notices])
    broken(folder, fault)
    return run(folder, fault.notices, compiled=fault.compiled, forked=forked)


def outcomes_of(faults: Mapping[str, Fault], folder: Path) -> dict[str, subprocess.CompletedProcess[str]]:
    """What the tests say of every fault, by its name; two at a time, those of plain Python one after the other."""
    places = {name: folder / str(number) for number, name in enumerate(faults)}
    plain = [name for name, fault in faults.items() if not fault.compiled]
    chains = [plain, *([name] for name, fault in faults.items() if fault.compiled)]
    forked = Forked(PLAIN) if ALLOWED and len(plain) > 1 else None

    def tried(names: list[str]) -> dict[str, subprocess.CompletedProcess[str]]:
        return {name: on_a_copy(places[name], faults[name], forked) for name in names}

    try:
        with ThreadPoolExecutor(2) as pool:
            return {name: result for part in pool.map(tried, chains) for name, result in part.items()}
    finally:
        if forked is not None:
            forked.close()


def noticing(result: subprocess.CompletedProcess[str]) -> list[str]:
    """Tests that failed, each by file and name; cases of one test count once."""
    found = re.findall(r"^(?:FAILED|ERROR) ([^\s\[]+)", result.stdout, re.MULTILINE)
    return list(dict.fromkeys(name.split("/")[-1] for name in found))


def check_noticed(result: subprocess.CompletedProcess[str], fault: Fault) -> None:
    """Tests ran, and the one that must notice failed by what it asserts."""
    assert result.returncode == 1, result.stdout + result.stderr
    assert "AssertionError" in result.stdout
    assert fault.notices.split("::")[-1].split("/")[-1].split("[")[0] in result.stdout
