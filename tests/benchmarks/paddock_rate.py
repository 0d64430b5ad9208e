"""How fast a paddock is, and how that grows: area by more and by longer passes, rows, settings, workers, memory.

    python tests/benchmarks/paddock_rate.py [--json]

Each line is a process of its own: class D ground made as it is travelled, toolbar on its wheels, all pins, results
written. Rate: unit-seconds (rows × settings × time of travel) a second and worker, start-up and join included; memory:
the largest resident size of the process, and of its largest worker.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

# name · rows · passes · length [m] · settings (oil pressures) · workers
CASES = (
    ("1 ha", 36, 4, 277.75, 3, 1),
    ("2 ha, more passes", 36, 8, 277.75, 3, 1),
    ("4 ha, more passes", 36, 16, 277.75, 3, 1),
    ("2 ha, longer passes", 36, 4, 555.5, 3, 1),
    ("4 ha, longer passes", 36, 4, 1111.0, 3, 1),
    ("18 rows", 18, 4, 277.75, 3, 1),
    ("9 rows", 9, 4, 277.75, 3, 1),
    ("1 ha, 1 setting", 36, 4, 277.75, 1, 1),
    ("4 ha, 2 workers", 36, 16, 277.75, 3, 2),
    ("4 ha, 1 setting, 2 workers", 36, 16, 277.75, 1, 2),
)


def one(rows: int, passes: int, length: float, settings: int, workers: int) -> dict:
    """Compute one case in this process, after a short one that fetches the compiled code."""
    from analysis.paddock.batch import run_batch, unit_seconds  # noqa: PLC0415
    from scenarios.paddock.load import load_paddock  # noqa: PLC0415

    pressures = [60.0, 45.0, 75.0][:settings]
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        for name, count, far in (("warm", 1, 10.0), ("case", passes, length)):
            (folder / f"{name}.toml").write_text(
                f'title = "{name}"\n[machine]\nrows = {rows}\n[passes]\ncount = {count}\nlength_m = {far}\n'
                f'[ground]\nroughness = {{ class = "D" }}\n[search]\npressures_bar = {pressures}\n'
            )
        run_batch(load_paddock(folder / "warm.toml"), folder / "warm.h5", 1)
        paddock = load_paddock(folder / "case.toml")
        begin = time.perf_counter()
        run_batch(paddock, folder / "case.h5", workers)
        wall = time.perf_counter() - begin
        size = (folder / "case.h5").stat().st_size
    work = sum(unit_seconds(paddock, number) for number in range(passes))
    peak = {who: resource.getrusage(which).ru_maxrss / 1024.0
            for who, which in (("own", resource.RUSAGE_SELF), ("worker", resource.RUSAGE_CHILDREN))}  # fmt: skip
    return {"ha": paddock.area / 1e4, "wall_s": wall, "unit_seconds": work, "rate_per_worker": work / wall / workers,
            "own_MB": peak["own"], "worker_MB": peak["worker"], "result_MB": size / 1e6}  # fmt: skip


def main() -> None:
    """All cases, or with numbers on the command line that one."""
    numbers = [float(word) for word in sys.argv[1:] if not word.startswith("--")]
    if numbers:
        rows, passes, length, settings, workers = numbers
        print(json.dumps(one(int(rows), int(passes), length, int(settings), int(workers))))
        return
    found = {}
    for name, *case in CASES:
        command = [sys.executable, __file__, *map(str, case)]
        done = subprocess.run(command, capture_output=True, text=True, check=True)
        found[name] = json.loads(done.stdout)
        if "--json" not in sys.argv:
            r = found[name]
            worker = f", largest worker {r['worker_MB']:.0f} MB" if case[-1] > 1 else ""
            rate = f"{r['rate_per_worker']:9,.0f} unit-seconds a second and worker"
            print(f"{name:<28}{r['ha']:5.2f} ha {r['wall_s']:7.2f} s {rate} {r['own_MB']:5.0f} MB{worker}")
    if "--json" in sys.argv:
        print(json.dumps(found, indent=1))


if __name__ == "__main__":
    main()
