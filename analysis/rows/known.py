"""Crossings that were made before, kept in the user's cache folder: the same question again is answered from there.

A `report` after a `window`, a window once more for its figures, or with other limits: these ask for crossings whose
every number is known. Kept is what `analysis.rows.crossings.cross_all` gives, under a digest of all that it can depend
on: the program's own files behind it, versions, the kind of processor, unit, soil, ground by its samples, and settings.
What does not carry its checksum, or cannot be read, is crossed again; a folder that cannot be written costs nothing but
the time. `ROWBENCH_ANEW` set to anything crosses everything anew and keeps nothing.
"""

from __future__ import annotations

import hashlib
import json
import logging
import os
import sqlite3
import sys
import threading
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict
from functools import cache, lru_cache
from importlib.metadata import version
from pathlib import Path
from typing import Any

from llvmlite.binding import get_host_cpu_name

from analysis.crossing.measures import in_window
from analysis.parallel import Progress, part_of
from analysis.rows.cells import Crossing, Laid
from analysis.rows.crossings import Cell, cross_all
from scenarios.scenario import Scenario
from sim.arithmetic import sources
from sim.arithmetic.compilecache import cache_folder, open_to_others
from sim.heeds import Heed

ANEW = "ROWBENCH_ANEW"
FILE = "crossings.sqlite"
MOST = 40_000  # crossings that are kept, some 40 MB; the oldest make room
PATIENCE = 5.0  # how long is waited for another process that writes [s]
_SEAL = 8  # bytes of the checksum in front of what is kept
_NOTES = logging.getLogger("rowbench")


def cross_or_find(
    scenario: Scenario,
    laid: Sequence[Laid],
    cells: Sequence[Cell],
    unchanged: bool,
    workers: int | None = None,
    progress: Progress | None = None,
) -> list[Crossing]:
    """As `analysis.rows.crossings.cross_all`, bit for bit, without crossing what is known from before."""
    book = None if os.environ.get(ANEW) or not _all_own() else _book(home())
    if book is None:
        return cross_all(scenario, laid, cells, unchanged, workers, progress)
    keys = keys_of(scenario, laid, cells, unchanged)
    found = book.find(keys)
    left = [i for i, key in enumerate(keys) if key not in found]
    told = None if progress is None else part_of(progress, len(cells) - len(left), len(cells))
    if told is not None and len(left) < len(cells):
        told(0, 0)
    if left:
        made = cross_all(scenario, laid, [cells[i] for i in left], unchanged, workers, told)
        new = dict(zip((keys[i] for i in left), made, strict=True))
        book.keep(new)
        found |= new
    return [found[key] for key in keys]


def keys_of(scenario: Scenario, laid: Sequence[Laid], cells: Sequence[Cell], unchanged: bool) -> list[bytes]:
    """A digest of all that each crossing depends on."""
    limits = scenario.limits
    parts = [_text(part) for part in (scenario.unit, scenario.soil, scenario.stones.contact, limits.gas_rule)]
    shared = [
        [m.name for m in in_window()],
        *parts,
        limits.depth_tolerance,
        limits.gas_pressure_warning,
        scenario.x_from,
        unchanged,
    ]
    begun = hashlib.sha256(json.dumps([_computing(), shared]).encode())
    keys = []
    for settings, ground in cells:
        one = begun.copy()
        one.update(laid[ground].digest)
        one.update(_text(settings).encode())
        keys.append(one.digest())
    return keys


@lru_cache(maxsize=512)
def _text(part: Any) -> str:
    """A part of the model, frozen, in all its values; the same of many crossings, so remembered."""
    return json.dumps(asdict(part))


def _all_own() -> bool:
    """Whether all measures are the program's own, whose sources are in the digest: those of a user's script are not."""
    codes = [getattr(m.setting or m.rows, "__code__", None) for m in in_window()]
    return all(code is not None and _own(code.co_filename) for code in codes)


@cache
def _own(file: str) -> bool:
    return not {sources.ROOT / package for package in sources.PACKAGES}.isdisjoint(Path(file).parents)


@cache
def _computing() -> list[str]:
    """The program's own files behind a crossing, as a digest, and all else that computes it."""
    files = sources.behind([Path(__file__)])
    packages = [f"{name} {version(name)}" for name in ("numpy", "scipy", "numba", "llvmlite")]
    return [sources.digest(files), sys.version, *packages, get_host_cpu_name()]


def home() -> Path:
    """The folder that holds those of the machine code of every version: one file for all, so that it stays small."""
    return cache_folder().parent


@cache
def _book(folder: Path) -> Book | None:
    """What is kept in a folder; None where nothing can be, or where others could have put what is found there."""
    return Book(folder / FILE) if folder.is_dir() and not open_to_others(folder) else None


class Book:
    """Crossings by key in a file of its own (SQLite); for several threads and processes at once."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._lock = threading.Lock()
        self._open: sqlite3.Connection | None = None
        self._given_up = False

    def find(self, keys: Sequence[bytes]) -> dict[bytes, Crossing]:
        """Those of the crossings that are known."""
        found: dict[bytes, Crossing] = {}
        with self._lock:
            try:
                for key in keys if not self._given_up else ():
                    row = self._there().execute("select content from crossings where key = ?", (key,)).fetchone()
                    crossing = None if row is None else _read(key, row[0])
                    if crossing is not None:
                        found[key] = crossing
            except (sqlite3.Error, OSError) as error:
                self._give_up(error)
        return found

    def keep(self, new: Mapping[bytes, Crossing]) -> None:
        """Add crossings, all or none of them; the oldest beyond MOST make room."""
        with self._lock:
            if self._given_up:
                return
            try:
                with self._there() as there:
                    there.executemany(
                        "insert or replace into crossings (key, content) values (?, ?)",
                        [(key, _written(key, crossing)) for key, crossing in new.items()],
                    )
                    there.execute(
                        "delete from crossings where number <= (select max(number) from crossings) - ?", (MOST,)
                    )
            except (sqlite3.Error, OSError) as error:
                self._give_up(error)

    def _there(self) -> sqlite3.Connection:
        if self._open is None:
            there = sqlite3.connect(self.path, timeout=PATIENCE, check_same_thread=False)
            self._open = there
            there.execute("pragma synchronous = off")  # what a power cut leaves half written is found by its checksum
            there.execute(
                "create table if not exists crossings (number integer primary key autoincrement, key blob unique, "
                "content blob)"
            )
        return self._open

    def _give_up(self, error: Exception) -> None:
        """Go on without; a file that is damaged is removed, so that the next start begins another."""
        self._given_up = True
        with suppress(sqlite3.Error):
            if self._open is not None:
                self._open.close()
        self._open = None
        if isinstance(error, sqlite3.DatabaseError) and not isinstance(error, sqlite3.OperationalError):
            with suppress(OSError):
                self.path.unlink()
            _NOTES.warning(
                "%s: holds damaged crossings (%s), which are made again; allowed: a file that only rowbench writes; "
                "try: nothing; where it happens again, have the disk checked", self.path, error,
            )  # fmt: skip


def _written(key: bytes, crossing: Crossing) -> bytes:
    """A crossing as bytes behind their checksum; floats keep every bit."""
    values = [float(crossing.values[m.name]) for m in in_window()] if crossing.values else []
    text = json.dumps([values, crossing.problem, crossing.heeds]).encode()
    return _seal(key, text) + text


def _read(key: bytes, content: bytes) -> Crossing | None:
    """The crossing again; None where it is not what was written."""
    text = content[_SEAL:]
    if _seal(key, text) != content[:_SEAL]:
        return None
    values, problem, heeds = json.loads(text)
    named = {m.name: value for m, value in zip(in_window(), values, strict=True)} if values else Crossing().values
    return Crossing(named, problem, tuple(Heed(*heed) for heed in heeds))


def _seal(key: bytes, text: bytes) -> bytes:
    return hashlib.sha256(key + text).digest()[:_SEAL]
