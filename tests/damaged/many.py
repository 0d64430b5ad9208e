"""Cases by the thousand, in processes of their own: one that hangs or dies is told, and the next goes on."""

from __future__ import annotations

import multiprocessing
import resource
import shlex
import sys
import time
import warnings
from collections import Counter
from dataclasses import dataclass, field
from multiprocessing.connection import Connection, wait
from pathlib import Path

from .attempt import FINE, Outcome, attempt
from .case import Case
from .kinds import make
from .texts import PADDOCK, SHORT

LONGEST = 10.0  # s of computing that a case may take
WAITED = 90.0  # s on the clock: other work may share the machine
LARGEST = 1e9  # bytes that the process may have come to
WARM = (("run", "a.toml"), ("window", "a.toml"), ("explain", "a.toml"), ("paddock", "p.toml", "--out", "r.h5"))


@dataclass
class Found:
    """How many of each kind ended how, and the cases that did not end as they must."""

    counts: Counter[tuple[str, str]] = field(default_factory=Counter)
    wrong: list[tuple[int, Outcome]] = field(default_factory=list)
    slowest: float = 0.0
    memory: float = 0.0

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
        return "\n".join([*told, f"slowest {self.slowest:.1f} s, largest process {self.memory / 1e6:.0f} MB"])


def _work(pipe: Connection, seed: int, kinds: tuple[str, ...]) -> None:
    """Try the cases whose numbers come, until there are none."""
    warnings.simplefilter("error")
    for words in WARM:  # whatever is compiled and imported once is not the cases' time
        attempt(Case("warm", words, {"a.toml": SHORT.encode(), "p.toml": PADDOCK.encode()}))
    pipe.send(None)
    while (number := pipe.recv()) is not None:
        case = make(seed, number, kinds)
        begin = time.process_time()
        outcome = attempt(case)
        taken = time.process_time() - begin
        if taken > LONGEST:
            outcome = Outcome("HANG", f"{taken:.0f} s")
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
        if peak > LARGEST:
            outcome = Outcome("MEMORY", f"{peak / 1e6:.0f} MB")
        pipe.send((number, case.kind, outcome, taken, peak))
        if peak > LARGEST:
            return


class _Worker:
    """One process, what it is at, and since when."""

    def __init__(self, seed: int, kinds: tuple[str, ...]) -> None:
        self.asked = (seed, kinds)
        self.start()

    def start(self) -> None:
        """A new process; it answers once all is compiled."""
        context = multiprocessing.get_context("spawn")
        self.pipe, other = context.Pipe()
        self.process = context.Process(target=_work, args=(other, *self.asked), daemon=True)
        self.process.start()
        other.close()
        self.number: int | None = None
        self.until = 0.0
        self.pipe.recv()

    def give(self, number: int | None) -> None:
        """The next case."""
        self.number = number
        self.until = time.monotonic() + WAITED
        self.pipe.send(number)

    def end(self) -> None:
        """Stop it at once."""
        self.process.kill()
        self.process.join()
        self.pipe.close()


def try_all(cases: int, seed: int, kinds: list[str], workers: int, keep: Path | None) -> Found:
    """Try cases 0 … cases − 1 of a seed."""
    found, numbers = Found(), iter(range(cases))
    asked = tuple(kinds)
    hands = [_Worker(seed, asked) for _ in range(workers)]
    for hand in hands:
        hand.give(next(numbers, None))
    while any(hand.number is not None for hand in hands):
        busy = [hand for hand in hands if hand.number is not None]
        ready = wait([hand.pipe for hand in busy], timeout=0.5)
        for hand in busy:
            number, outcome = hand.number, None
            assert number is not None
            if hand.pipe in ready:
                try:
                    number, kind, outcome, taken, peak = hand.pipe.recv()
                    found.slowest, found.memory = max(found.slowest, taken), max(found.memory, peak)
                except EOFError:
                    outcome, kind = (
                        Outcome("CRASH", f"exit code {hand.process.exitcode}"),
                        make(seed, number, asked).kind,
                    )
            elif time.monotonic() > hand.until:
                outcome, kind = Outcome("HANG"), make(seed, number, asked).kind
            if outcome is None:
                continue
            found.counts[kind, outcome.how] += 1
            if outcome.how not in FINE:
                found.wrong.append((number, outcome))
                _keep(keep, seed, number, asked, outcome)
            if outcome.how in ("CRASH", "HANG", "MEMORY"):
                hand.end()
                hand.start()
            hand.give(next(numbers, None))
            if found.counts.total() % 500 == 0:
                sys.stderr.write(f"{found.counts.total()} of {cases}, {len(found.wrong)} wrong\n")
    return found


def _keep(keep: Path | None, seed: int, number: int, kinds: tuple[str, ...], outcome: Outcome) -> None:
    """A case that went wrong, in a folder of its own."""
    if keep is None:
        return
    case = make(seed, number, kinds)
    folder = keep / f"{outcome.how.split()[0].lower()}-{seed}-{number}"
    folder.mkdir(parents=True, exist_ok=True)
    for name, data in case.files.items():
        if not name.endswith(("/", "|")):
            (folder / name).write_bytes(data)
    told = f"{case.kind}\nrowbench {shlex.join(case.words)}\n\n{outcome.how}\n{outcome.shown}\n"
    (folder / "what.txt").write_text(told, encoding="utf-8", errors="backslashreplace")
