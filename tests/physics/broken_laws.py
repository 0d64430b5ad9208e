"""Laws broken one by one, by hand: which tests notice each?

    python -m tests.physics.broken_laws [--only WORD] [--workers N] [--list]

Each law is broken in a copy of the sources, so that compiled code is broken too, and the tests near it run to their
end. A line for each: what was broken, how many tests noticed, which. A law that none of them notices makes the command
end in 1. How long it will take is told before it starts; most of it is compiling (see ABOUT).
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT / "tests" / "support"), str(Path(__file__).parent)]

import test_broken_measures as measures  # noqa: E402 (found on the path above)
import test_broken_physics as physics  # noqa: E402
import test_broken_rows as rows  # noqa: E402
from broken import Fault, broken, copied, noticing, run  # noqa: E402

INSTANT, UNIT = physics.INSTANT, "tests/unit/sim"
DISC, STONE, OIL, SOIL = (
    f"{UNIT}/{name}.py" for name in ("laws/test_disc", "laws/test_stone", "hydraulics/test_oil", "laws/test_wheel_soil")
)
# tests near a file of the sources, all of which run as plain Python
NEAR = {
    "sim/mechanism": (INSTANT,),
    "sim/hydraulics": (OIL,),
    "sim/laws/disc.py": (DISC, STONE, OIL),
    "sim/laws/gas.py": (f"{UNIT}/laws/test_gas.py", OIL, physics.NITROGEN),
    "sim/laws/wheel_soil.py": (SOIL, INSTANT),
    "sim/heeds.py": (measures.HEEDS,),
}
ABOUT = {False: 15.0, True: 60.0}  # time that a law takes, plain and compiled, on a quiet machine [s]

FORCES, OIL_LAW, DISC_LAW, SOIL_LAW = (
    f"sim/{name}.py" for name in ("mechanism/forces", "hydraulics/oil", "laws/disc", "laws/wheel_soil")
)
# laws that a single test of their own notices anyway: broken here alone
MORE = {
    "seals that push": Fault(OIL_LAW, "force=push - friction", "force=push + friction", OIL),
    "gas that stays as warm when squeezed": Fault(OIL_LAW, "tg_rate=heat - squeeze", "tg_rate=heat", OIL),
    "heat that flows to what is warmer": Fault(OIL_LAW, "heat = (m.wall - tg)", "heat = (tg - m.wall)", OIL),
    "a line without resistance": Fault(OIL_LAW, " - m.line * flow, 0.0)", ", 0.0)", OIL),
    "oil that gives way without end": Fault(
        OIL_LAW, "m.column * largest(volume - m.v_acc, 0.0)", "0.0 * largest(volume - m.v_acc, 0.0)", OIL
    ),
    "a valve that lets oil the wrong way": Fault(
        OIL_LAW, "vo_rate = (m.p_set - p_oil)", "vo_rate = (p_oil - m.p_set)", OIL
    ),
    "no atmosphere on the rod side": Fault(OIL_LAW, "push = (p_cyl - ATMOSPHERE)", "push = p_cyl", OIL),
    "a boot that is lifted as it is drawn": Fault(
        DISC_LAW, "return -m.boot_kx * share, m.boot_kz * share", "return -m.boot_kz * share, m.boot_kx * share", DISC
    ),
    "soil that pushes the disc on": Fault(DISC_LAW, "f_x = -draught - face", "f_x = draught - face", DISC),
    "a face that does not feel the speed": Fault(
        DISC_LAW, "face = face_factor * strength * speed_term", "face = face_factor * strength", DISC
    ),
    "an arc that does not turn with the motion": Fault(
        DISC_LAW, "edge = per_length * (chord + radius * s)", "edge = per_length * chord", DISC
    ),
    "a press spring that pulls": Fault(
        FORCES, "m.press_spring * (y.ps - m.press_psi0)", "m.press_spring * (m.press_psi0 - y.ps)", INSTANT
    ),
    "no damper on the press arm": Fault(FORCES, " - m.press_damping * y.ops + pstop", " + pstop", INSTANT),
    "rolling resistance of another constant": Fault(SOIL_LAW, "return 0.04 + load", "return 0.06 + load", SOIL),
    "soil that stores another work": Fault(SOIL_LAW, "(exponent + 1.5)", "(exponent + 1.0)", SOIL),
    "tyres that lose nothing": Fault(SOIL_LAW, "tyre_c * tyre_rate * tyre_rate)", "0.0 * tyre_rate * tyre_rate)", SOIL),
}
LAWS: Mapping[str, Fault] = {**physics.FAULTS, **rows.FAULTS, **rows.BY_HAND, **MORE, **measures.FAULTS}


def near(fault: Fault) -> list[str]:
    """Tests to run on a law: the one that must notice, and of plain ones those near its file."""
    if fault.compiled:
        return [fault.notices]
    found = [test for part, tests in NEAR.items() if fault.file.startswith(part) for test in tests]
    return found if fault.notices.split("::")[0] in found else [fault.notices, *found]


def tried(fault: Fault) -> tuple[list[str], str]:
    """Tests that notice a law's fault; what was said where none did."""
    with tempfile.TemporaryDirectory() as folder:
        tests = near(fault)
        copied(Path(folder), tests)
        broken(Path(folder), fault)
        result = run(Path(folder), *tests, compiled=fault.compiled, to_the_end=True)
    return noticing(result), result.stdout.strip().splitlines()[-1] if result.stdout.strip() else result.stderr


def all_of(laws: Mapping[str, Fault], workers: int) -> Iterator[str]:
    """A line for each law, as they are finished in order; then the numbers."""
    missed = []
    with ThreadPoolExecutor(workers) as pool:
        jobs = {name: pool.submit(tried, fault) for name, fault in laws.items()}
        for name, job in jobs.items():
            found, said = job.result()
            if not found:
                missed.append(name)
            yield f"{name} ({laws[name].file})\n    " + (
                f"{len(found)}: {', '.join(found)}" if found else f"NOBODY: {said}"
            )
    yield f"{len(laws)} laws broken, {len(laws) - len(missed)} noticed" + "".join(
        f"\n    not: {name}" for name in missed
    )


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--only", metavar="WORD", default="", help="only laws whose name or file holds it")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--list", action="store_true", help="names and files, nothing is run")
    asked = parser.parse_args()
    laws = {name: fault for name, fault in LAWS.items() if asked.only in name or asked.only in fault.file}
    if asked.list or not laws:
        sys.stdout.write("".join(f"{name} ({fault.file})\n" for name, fault in (laws or LAWS).items()))
        return 0 if laws else 2
    about = sum(ABOUT[fault.compiled] for fault in laws.values()) / asked.workers
    sys.stdout.write(f"{len(laws)} laws, about {about / 60.0:.0f} min\n")
    start, whole = time.monotonic(), True
    for line in all_of(laws, asked.workers):
        whole = whole and "NOBODY" not in line
        sys.stdout.write(line + "\n")
        sys.stdout.flush()
    sys.stdout.write(f"{(time.monotonic() - start) / 60.0:.1f} min\n")
    return 0 if whole else 1


if __name__ == "__main__":
    sys.exit(main())
