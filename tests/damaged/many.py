"""Cases by the thousand, each in a process of its own, some at a time."""

from __future__ import annotations

import gc
import select
import shlex
import sys
import time
import warnings
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path

from sim.arithmetic.compilecache import cache_folder

from .apart import Child, Tried, Work
from .attempt import FINE, Outcome, attempt
from .case import Case
from .kinds import make
from .results import stopped, wholes
from .texts import PADDOCK, SHORT

FEW = 25  # cases in one child
# whatever is compiled and imported once is not the cases' time
WARM = (("run", "a.toml", "--figure", "a.png"), ("window", "a.toml"),
        ("explain", "a.toml"), ("report", "a.toml", "--out", "a.html"), ("pressures", "a.toml", "--json"),
        ("press", "a.toml"), ("disc", "a.toml"), ("draw", "a.toml", "--figure", "a.png"),
        ("paddock", "p.toml", "--out", "r.h5", "--map", "m.png"),
        ("run", "a.toml", "--engine", "rigid", "--speed", "25"), ("pins", "a.toml"),
        # play in the pins is compiled apart
        ("run", "w.toml"), ("window", "w.toml"))  # fmt: skip
WORN = "[unit.clearance]\nmain_pins_mm = 1\ndepth_linkage_mm = 1\ngauge_arm_mm = 1\n"


@dataclass
class Found:
    """How many of each kind ended how, and the cases that did not end as they must."""

    counts: Counter[tuple[str, str]] = field(default_factory=Counter)
    wrong: list[tuple[int, Outcome]] = field(default_factory=list)
    slowest: tuple[float, int] = (0.0, 0)  # s of computing, and which case that was
    memory: float = 0.0
    clock: float = 0.0
    again: int = 0  # cases that took too long beside others, and were tried once more by themselves

    @property
    def fine(self) -> bool:
        """Whether every case ended as it must."""
        return not self.wrong

    def table(self) -> str:
        """Kind of case → how many → how they ended."""
        hows = [*FINE, *sorted({how for _, how in self.counts} - set(FINE))]
        kinds = sorted({kind for kind, _ in self.counts})
        lines = [("kind", "cases", *hows)]
        lines += [
            (
                kind,
                str(sum(self.counts[kind, how] for how in hows)),
                *(str(self.counts[kind, how] or "") for how in hows),
            )
            for kind in kinds
        ]
        total = [sum(self.counts[kind, how] for kind in kinds) for how in hows]
        lines.append(("all", str(sum(total)), *map(str, total)))
        widths = [max(len(line[i]) for line in lines) for i in range(len(lines[0]))]
        told = ["  ".join(cell.rjust(width) for cell, width in zip(line, widths, strict=True)) for line in lines]
        taken, number = self.slowest
        end = f"slowest {taken:.1f} s of computing (case {number}), largest process {self.memory / 1e6:.0f} MB"
        end += f"; {self.again} tried again, alone" if self.again else ""
        return "\n".join([*told, f"{end}; {self.clock:.0f} s in all"])


def kept_code() -> set[Path]:
    """Machine code that is kept on disk, by its files."""
    return set(cache_folder().rglob("*.nbc"))


def warm() -> None:
    """Have everything imported, compiled and made that the cases share."""
    warnings.simplefilter("error")
    for words in WARM:
        files = {"a.toml": SHORT, "p.toml": PADDOCK, "w.toml": SHORT + WORN}
        came = attempt(Case("warm", words, {name: text.encode() for name, text in files.items()}))
        if came.how != "answered":
            raise RuntimeError(f"{shlex.join(words)}: {came.how} {came.shown}")
    wholes()
    stopped()
    gc.collect()
    gc.freeze()  # pages that the collector would write to are not copied for each child


def try_all(cases: int, seed: int, kinds: list[str], workers: int, keep: Path | None) -> Found:
    """Try cases 0 … cases − 1 of a seed, all that they share being there (`warm`); stopped by Ctrl-C, what was tried
    until then is there.
    """
    found, asked = Found(), tuple(kinds)
    begin = time.monotonic()

    def one(number: int) -> tuple[str, Outcome]:
        case = make(seed, number, asked)
        return case.kind, attempt(case)

    slow: list[int] = []

    def told(tried: Tried) -> None:
        if tried.outcome.how == "HANG" and tried.number not in slow:  # other work may share the machine
            slow.append(tried.number)
            return
        _count(found, tried, seed, asked, keep)
        if found.counts.total() % 500 == 0:
            taken = time.monotonic() - begin
            sys.stderr.write(f"{found.counts.total()} of {cases} in {taken:.0f} s, {len(found.wrong)} wrong\n")

    try:
        _drive(iter(range(cases)), one, workers, told)
        found.again = len(slow)
        _drive(iter(tuple(slow)), one, 1, told)
    except KeyboardInterrupt:
        sys.stderr.write("stopped: the table holds what was tried until then\n")
    found.clock = time.monotonic() - begin
    return found


def _drive(numbers: Iterator[int], work: Work, workers: int, told: Callable[[Tried], None]) -> None:
    """Have all numbers tried, a few by each child, so many children at a time."""
    at_work = [Child(some, work) for _ in range(workers) if (some := list(islice(numbers, FEW)))]
    try:
        while at_work:
            ready, _, _ = select.select([child.pipe for child in at_work], [], [], 0.5)
            for child in [child for child in at_work if child.pipe in ready or child.late]:
                found, ended = child.told()
                for tried in found:
                    told(tried)
                if ended:
                    at_work.remove(child)
                    if some := child.left or list(islice(numbers, FEW)):
                        at_work.append(Child(some, work))
    finally:
        for child in at_work:
            child.end()


def _count(found: Found, tried: Tried, seed: int, kinds: tuple[str, ...], keep: Path | None) -> None:
    """Add a case to what was found; one that went wrong is kept in a folder of its own."""
    kind = tried.kind or make(seed, tried.number, kinds).kind
    found.counts[kind, tried.outcome.how] += 1
    found.slowest = max(found.slowest, (tried.taken, tried.number))
    found.memory = max(found.memory, tried.peak)
    if tried.outcome.how in FINE:
        return
    found.wrong.append((tried.number, tried.outcome))
    if keep is None:
        return
    case = make(seed, tried.number, kinds)
    folder = keep / f"{tried.outcome.how.split()[0].lower()}-{seed}-{tried.number}"
    folder.mkdir(parents=True, exist_ok=True)
    for name, data in case.files.items():
        if name.endswith("/"):
            (folder / name).mkdir(exist_ok=True)
        elif not name.endswith("|"):
            (folder / name).write_bytes(data)
    told = f"{case.kind}\nrowbench {shlex.join(case.words)}\n\n{tried.outcome.how}\n{tried.outcome.shown}\n"
    (folder / "what.txt").write_text(told, encoding="utf-8", errors="backslashreplace")
