"""Many cases tried, by hand:

    python -m tests.damaged [CASES] [--seed S] [--kinds WORD …] [--workers N] [--keep FOLDER]

Prints a table: kind of case → how many → how they ended. Each case that did not end as it must is kept in FOLDER, with
its command line and what was said; Ctrl-C ends it with the table of what was tried until then. Words of --kinds:

    scenario, paddock                   a good file with one or a few things done to it
    extreme, paddock-extreme            values at the ends of what is allowed
    sheet, plan, readings               CSVs: profiles and digs; measured passes and strengths of a paddock; readings to
                                        fit to
    line                                command lines
    result, passes                      stored runs and paddocks; passes of a paddock that was stopped

A case takes some 0.07 s of computing: 20,000 some 25 minutes of one core that is free, half that on two.
"""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path

from .kinds import KINDS
from .many import kept_code, try_all, warm

AGAIN = "DAMAGED_AGAIN"  # set where this process is started again


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("cases", nargs="?", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kinds", nargs="*", default=[], choices=list(KINDS))
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--keep", type=Path)
    asked = parser.parse_args()
    kept = kept_code()
    warm()
    if kept_code() != kept and AGAIN not in os.environ:
        # a process that compiled is three times as large, and each child is a copy of it
        os.execve(sys.executable, [sys.executable, "-m", "tests.damaged", *sys.argv[1:]], {**os.environ, AGAIN: "yes"})
    found = try_all(asked.cases, asked.seed, asked.kinds, asked.workers, asked.keep)
    sys.stdout.write(found.table() + "\n")
    return 0 if found.fine else 1


if __name__ == "__main__":
    sys.exit(main())
