"""Many trials, by hand:

    python -m tests.fit_proof [--trials N] [--first K] [--wrong speed|engine|hysteresis] [--workers N] [--keep FILE]

Draws fields from the prior, makes readings in them, fits, and prints coverage, ranks and picks. Every trial is added to
FILE (JSON lines) as it ends, so that a run that was stopped still tells; trials that stand in it are not made again.
"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

from .told import told
from .trial import Setting, Trial, trial


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--trials", type=int, default=20)
    parser.add_argument("--first", type=int, default=1)
    parser.add_argument("--wrong", choices=("", "speed", "engine", "hysteresis"), default="")
    parser.add_argument("--workers", type=int, default=None)
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--no-picks", action="store_true")
    asked = parser.parse_args()
    made = _kept(asked.keep)
    for number in range(asked.first, asked.first + asked.trials):
        if number in made:
            continue
        made[number] = trial(number, asked.wrong, picks=not asked.no_picks, workers=asked.workers)
        if asked.keep:
            with asked.keep.open("a", encoding="utf-8") as file:
                file.write(json.dumps(made[number].document(), default=float) + "\n")
    sys.stdout.write(told(list(made.values())) + "\n")
    return 0


def _kept(path: Path | None) -> dict[int, Trial]:
    if path is None or not path.is_file():
        return {}
    found = {}
    for line in path.read_text(encoding="utf-8").splitlines():
        given = json.loads(line)
        for name in ("known", "before", "after", "sure"):
            given[name] = Setting(**given[name])
        found[given["number"]] = Trial(**{k: tuple(v) if isinstance(v, list) else v for k, v in given.items()})
    return found


if __name__ == "__main__":
    raise SystemExit(main())
