"""Runs a paddock in children that are killed, and goes on each time; started by test_kills in a process of its own.

    python killed_runs.py PADDOCK.toml FOLDER KILLS SEED

Prints one JSON document: how many were killed, how many passes each death left, whether the results are equal to an
uninterrupted one byte for byte. Also kills at every stage of a write in turn: before and after the flush to disk,
before and after the rename, in the join, in the removal.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import time
import traceback
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from analysis.paddock.batch import run_batch
from analysis.paddock.store_parts import parts_folder
from scenarios.paddock.load import load_paddock
from scenarios.paddock.paddock import Paddock

LIFE = 0.5  # of the time that a whole run takes on this machine, as busy as it is: the longest life of a child
FEW = 5  # passes of the runs that are killed at a stage


def child(work: Callable[[], None]) -> int:
    """Run `work` in a child of this process → its number."""
    number = os.fork()
    if number:
        return number
    code = 1
    try:
        work()
        code = 0
    except BaseException:
        traceback.print_exc()
    os._exit(code)


def ended(number: int) -> bool:
    """Wait for a child → whether it ended by itself and well."""
    _, status = os.waitpid(number, 0)
    return os.WIFEXITED(status) and os.WEXITSTATUS(status) == 0


def random_kills(paddock: Paddock, out: Path, kills: int, rng: random.Random, reference: bytes, longest: float) -> dict:
    """Kill at random moments until that many died, then let it end; begin anew whenever it was done before.

    longest: that a child lives [s]. left: for each run begun, how many passes were finished after each death in it.
    """
    died, left, equal = 0, [[]], True
    while True:
        number = child(lambda: run_batch(paddock, out, workers=2) and None)
        if died < kills:
            time.sleep(rng.uniform(0.0, longest))
            os.kill(number, signal.SIGKILL)
        if ended(number):
            equal = equal and out.read_bytes() == reference and not parts_folder(out).exists()
            if died >= kills:
                return {"died": died, "left": left, "equal": equal}
            out.unlink()
            left.append([])
        else:
            died += 1
            kept = len(list(parts_folder(out).glob("pass-*.npz")))
            left[-1].append(paddock.count if out.exists() else kept)


def at(stage: str, count: int) -> None:
    """From now on, die at a stage: the count-th call of a function of the system."""
    seen = 0

    def watched(original: Callable, before: bool) -> Callable:
        def call(*arguments, **named):
            nonlocal seen
            seen += 1
            if seen == count and before:
                os.kill(os.getpid(), signal.SIGKILL)
            result = original(*arguments, **named)
            if seen == count:
                os.kill(os.getpid(), signal.SIGKILL)
            return result

        return call

    name, when = stage.split("-")
    owner = {"fsync": os, "replace": os, "rmdir": os, "unlink": os}[name]
    setattr(owner, name, watched(getattr(owner, name), when == "before"))


def staged_kills(paddock: Paddock, out: Path, reference: bytes) -> dict:
    """Kill once at every stage, each in a run of its own that then goes on."""
    found = {}
    passes = paddock.count
    stages = [(f"{name}-{when}", count) for name in ("fsync", "replace") for when in ("before", "after")
              for count in (1, 2, 3, passes + 2)]  # fmt: skip
    stages += [("rmdir-before", 1), ("rmdir-after", 1), ("unlink-after", 2), ("unlink-after", passes)]
    for stage, count in stages:
        out.unlink(missing_ok=True)

        def work(stage: str = stage, count: int = count) -> None:
            at(stage, count)
            run_batch(paddock, out, workers=1)

        died = not ended(child(work))
        again = ended(child(lambda: run_batch(paddock, out, workers=1) and None))
        equal = again and out.read_bytes() == reference and not parts_folder(out).exists()
        found[f"{stage} {count}"] = {"died": died, "equal": equal}
    return found


def main() -> None:
    """Read the command line, do it, print what was found."""
    file, folder, kills, seed = Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4])
    paddock = load_paddock(file)
    few = replace(paddock, passes=replace(paddock.passes, count=FEW))
    # done here too, so that the children find everything compiled; its threads have ended when they are forked
    whole = folder / "whole.h5"
    run_batch(paddock, whole, workers=1)
    reference = whole.read_bytes()
    run_batch(few, folder / "few.h5", workers=1)
    begin = time.perf_counter()
    ended(child(lambda: run_batch(paddock, folder / "timed.h5", workers=2) and None))
    longest = LIFE * (time.perf_counter() - begin)
    found = {"random": random_kills(paddock, folder / "killed.h5", kills, random.Random(seed), reference, longest),
             "staged": staged_kills(few, folder / "staged.h5", (folder / "few.h5").read_bytes())}  # fmt: skip
    sys.stdout.write(json.dumps(found))


if __name__ == "__main__":
    main()
