"""A paddock killed at random moments and gone on with, many times, by hand:

    python -m tests.faults.many_kills [KILLS] [SEED]

Each child computes a paddock and is killed after a random share of the time that a whole run takes, the join and the
removal of the finished passes included; every tenth is the command in a process of its own. The next goes on where it
died; a run that got to its end is compared with an uninterrupted one and begun anew. After every death each pass that
was finished before has to be there, byte for byte. Prints where the deaths fell and what was lost; the exit code is 1
where anything was. Some 1 s a kill. The short form is in test_kills.
"""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests" / "support"))

import paddocks  # noqa: E402 (lies in the folder that was just added)
from killed_runs import child, ended  # noqa: E402

from analysis.paddock.batch import run_batch  # noqa: E402
from analysis.paddock.store_parts import parts_folder  # noqa: E402
from scenarios.paddock.load import load_paddock  # noqa: E402
from scenarios.paddock.paddock import Paddock  # noqa: E402

TABLES = {
    "machine": "rows = 4\nrow_spacing_m = 0.25\nfront_wheels_m = [0]\nrear_wheels_m = [0]",
    "passes": "count = 24\nlength_m = 6\nsection_m = 3",
}
COMMAND_EACH = 10
START = 3.0  # within which a command of its own has begun to compute [s]


class Killed:
    """What was found; `lost` in words."""

    def __init__(self) -> None:
        self.where: Counter[str] = Counter()
        self.whole, self.lost = 0, []  # type: int, list[str]
        self.kept: dict[str, bytes] = {}

    def look(self, out: Path, reference: bytes) -> None:
        """After a death: what is there, against what was there before."""
        folder = parts_folder(out)
        if out.exists():
            if out.read_bytes() != reference:
                self.lost.append("a result that is not whole")
            self.where["after the join, before or in the removal of the passes"] += 1
            return
        there = {part.name: part.read_bytes() for part in folder.glob("pass-*.npz")} if folder.is_dir() else {}
        self.lost += [f"{name} of {len(self.kept)}" for name, data in self.kept.items() if there.get(name) != data]
        joining = (folder / ".joined.tmp").exists()
        place = "in the join" if joining else "while a file was written" if list(folder.glob(".*.tmp")) else "between"
        self.where[place if joining or there else "before the first pass was kept"] += 1
        self.kept = there

    def finished(self, out: Path, reference: bytes) -> None:
        """After a run to its end."""
        self.whole += 1
        if out.read_bytes() != reference:
            self.lost.append("bytes of a result")
        if parts_folder(out).exists():
            self.lost.append("passes were left")
        out.unlink()
        self.kept = {}


def kill_many(path: Path, paddock: Paddock, folder: Path, kills: int, seed: int) -> Killed:
    """Kill that many and let the last run end."""
    rng, found = random.Random(seed), Killed()
    run_batch(paddock, folder / "whole.h5", workers=1)
    reference = (folder / "whole.h5").read_bytes()
    begin = time.perf_counter()
    ended(child(lambda: run_batch(paddock, folder / "timed.h5", workers=2) and None))
    longest, out, died = time.perf_counter() - begin, folder / "killed.h5", 0
    while died < kills:
        own = died % COMMAND_EACH == COMMAND_EACH - 1
        status = (_command if own else _child)(path, paddock, out, rng.uniform(0.0, longest + (START if own else 0.0)))
        if status == 0:
            found.finished(out, reference)
        elif status == -signal.SIGKILL:
            died += 1
            found.look(out, reference)
        else:
            found.lost.append(f"a run ended by itself with status {status}")
            died += 1
    if not ended(child(lambda: run_batch(paddock, out, workers=2) and None)):
        found.lost.append("the last run did not end well")
    found.finished(out, reference)
    return found


def _command(path: Path, paddock: Paddock, out: Path, life: float) -> int:
    """The command, killed after so long [s] → its status, negative for a signal."""
    words = [sys.executable, "-m", "analysis.cli.main", "paddock", str(path), "--out", str(out), "--workers", "2"]
    with subprocess.Popen(words, cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)}, stdout=subprocess.DEVNULL,
                          stderr=subprocess.DEVNULL) as started:  # fmt: skip
        time.sleep(life)
        started.kill()
    return started.returncode


def _child(path: Path, paddock: Paddock, out: Path, life: float) -> int:
    """The same in a child of this process, which begins at once."""
    number = child(lambda: run_batch(paddock, out, workers=2) and None)
    time.sleep(life)
    os.kill(number, signal.SIGKILL)
    return os.waitstatus_to_exitcode(os.waitpid(number, 0)[1])


def main() -> int:
    """Read the command line, do it, print what was found."""
    given = [int(word) for word in sys.argv[1:3]]
    kills, seed = (*given, *(100, 7)[len(given) :])
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = paddocks.write(folder, TABLES, "[stones]\nstones_per_ha = 20000")
        begin = time.perf_counter()
        found = kill_many(path, load_paddock(path), folder, kills, seed)
    lines = [f"{kills} kills in {time.perf_counter() - begin:.0f} s, seed {seed}"]
    lines += [f"  {count:4d}  {place}" for place, count in found.where.most_common()]
    lines += [f"  {found.whole:4d}  runs to the end", f"  {len(found.lost):4d}  losses", *found.lost[:20]]
    sys.stdout.write("\n".join(lines) + "\n")
    return 1 if found.lost else 0


if __name__ == "__main__":
    sys.exit(main())
