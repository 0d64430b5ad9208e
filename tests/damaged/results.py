"""Damaged stored results, and damaged passes of a paddock that was stopped, with the commands that read them.

A result that was damaged may be refused, or be read to the same values as the whole file. Nothing else is right, but
for bits changed in a number and sealed again: those make another whole file.
"""

from __future__ import annotations

import json
import random
import tempfile
import time
import traceback
import zipfile
from collections.abc import Callable
from functools import cache, partial
from io import BytesIO
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from analysis.crossing.summary import run_summary
from analysis.paddock.batch import run_batch
from analysis.paddock.store_parts import parts_folder
from analysis.paddock.table import load_table
from analysis.storage.run_file import save_run
from analysis.storage.run_table import load_run_table
from analysis.storage.sealed import LENGTH, sealed
from analysis.storage.stored_scenario import stored_scenario
from scenarios.format.errors import ScenarioError
from scenarios.load import load
from scenarios.paddock.load import load_paddock
from sim.run import simulate

from .attempt import FINE, Outcome, seen
from .case import Case
from .harm import HARMS, Harm
from .values import pick

Rng = np.random.Generator
SLOWEST = 10.0  # [s]
RUN = """\
title = "Small"
[unit]
base = "unit.toml"
[ground]
length_m = 10
seed = 5
roughness = { class = "D" }
[search]
pressures_bar = [40, 45]
speeds_kmh = [8]
seeds = 1
"""
UNIT = '[unit]\nbase = "demo"\n[unit.carrier]\nmass_kg = 97\n'
PADDOCK = """\
title = "Small paddock"
[machine]
rows = 5
front_wheels_m = [-0.5, 0.5]
rear_wheels_m = [-0.5, 0.5]
[passes]
count = 2
length_m = 10
section_m = 5
latitude = -33
longitude = 148
[ground]
seed = 5
roughness = { class = "D" }
[search]
pressures_bar = [45, 60]
speeds_kmh = [8]
[keep]
series_every_m = 1
[stones]
stones_per_ha = 30000
[[zones]]
name = "low"
start_m = [0, 0]
end_m = [10, 1.25]
"""


class Whole(NamedTuple):
    """A whole file: its name, its bytes, its reader, and what that says of it."""

    name: str
    data: bytes
    read: Callable[[Path], str]
    said: str


@cache
def wholes() -> tuple[Whole, ...]:
    """Small whole files to damage: a run on made-up ground, one on measured ground, a paddock."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "unit.toml").write_text(UNIT, encoding="utf-8")
        (folder / "small.toml").write_text(RUN, encoding="utf-8")
        (folder / "paddock.toml").write_text(PADDOCK, encoding="utf-8")
        lines = "".join(f"{0.1 * k:.2f},{0.01 * (k % 7):.5f}\n" for k in range(120))
        (folder / "line.csv").write_text("distance_m,height_m\n" + lines, encoding="utf-8")
        for result, profile in (("run.h5", None), ("measured.h5", folder / "line.csv")):
            changes = {"settings.oil_pressure_bar": 45.0}
            scenario = load(folder / "small.toml", profile=profile, changes=changes)
            run = simulate(scenario.unit, scenario.soil, scenario.track(), scenario.settings)
            save_run(folder / result, run, scenario, run_summary(run, scenario), changes)
        run_batch(load_paddock(folder / "paddock.toml"), folder / "paddock.h5", workers=1)
        readers = {"run.h5": read_run, "measured.h5": read_run, "paddock.h5": read_paddock}
        return tuple(
            Whole(result, (folder / result).read_bytes(), read, read(folder / result))
            for result, read in readers.items()
        )


def read_run(path: Path) -> str:
    """Everything that is read of a run, as a text to compare; what it was named is left out."""
    table, scenario = load_run_table(path), stored_scenario(path, {})
    arrays = [*table.series.values(), table.pins, table.actuator, *table.track.values(), scenario.track().ground]
    said = [table.unit, table.soil, table.settings, table.rock, table.changes, table.x_from, table.x_to,
            table.seed, table.step, table.engine, scenario.limits, scenario.search]  # fmt: skip
    return _digest(arrays) + repr(said)


def read_paddock(path: Path) -> str:
    """Everything that is read of a paddock."""
    t = load_table(path)
    arrays = [t.pressures, t.speeds, t.downforce, *t.by_setting.values(), t.section_x, t.section_length, t.row_y,
              t.zone,
              *t.sections.values(), *t.totals.values(), t.error_count,
              *(v for e in t.events.values() for v in e.values())]  # fmt: skip
    arrays += [v for v in (t.latitude, t.longitude) if v is not None]
    said = [t.title, t.seed, t.machine, t.zones, t.tracks, t.limits, t.problems, t.heeds, t.warnings, t.inputs]
    return _digest(arrays) + repr(said)


def _digest(arrays: list[Any]) -> str:
    return " ".join(str(hash(np.ascontiguousarray(a).tobytes())) for a in arrays)


def harmed(whole: Whole, harm: Harm, rng: random.Random) -> bytes:
    """The bytes of a whole file, damaged."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / whole.name
        path.write_bytes(whole.data)
        harm.damage(path, rng)
        return path.read_bytes()


def result_case(rng: Rng) -> Case:
    """A damaged result and a command that reads it."""
    weights = np.array([0.25 if harm.apart else 1.0 for harm in HARMS])
    harm = HARMS[int(rng.choice(len(HARMS), p=weights / weights.sum()))]
    return case_of(harm, int(rng.integers(len(wholes()))), rng)


def case_of(harm: Harm, number: int, rng: Rng) -> Case:
    """One kind of damage done to one whole file."""
    whole = wholes()[number]
    data = harmed(whole, harm, random.Random(int(rng.integers(2**62))))
    return Case(f"result, {harm.kind}", result_words(rng, whole.name), {whole.name: data},
                partial(_read_too, whole, harm), seen_here=not harm.apart)  # fmt: skip


def result_words(rng: Rng, name: str) -> tuple[str, ...]:
    """A command that reads a stored result."""
    if name == "paddock.h5" and rng.random() < 0.7:
        how = pick(rng, ((), (), ("--details",), ("--csv", "s.csv"), ("--geojson", "s.geojson"), ("--map", "m.png")))
        words: tuple[str, ...] = ("paddock", name, *how)
    else:
        words = ("report", name, "--out", "page.html")
        words += () if name == "paddock.h5" else ("--workers", "1")
    return (*words, "--json") if rng.random() < 0.6 else words


def ended(whole: Whole, harm: Harm, path: Path) -> Outcome:
    """How the reading of a damaged copy of a whole file ends."""
    begin = time.monotonic()
    try:
        with seen(not harm.apart):
            said = whole.read(path)
        fine = harm.apart or said == whole.said
        found = Outcome("answered") if fine else Outcome("OTHER ANSWER", "other values than the whole file's")
    except ScenarioError as error:
        told = all("; allowed: " in text and "; try: " in text for text in error.faults)
        clean = str(error).replace("\n", "").isprintable()
        found = Outcome("refused", str(error)) if told and clean else Outcome("MESSAGE", str(error))
    except Exception as error:
        found = Outcome(f"TRACEBACK {type(error).__name__}", traceback.format_exc()[-3000:])
    took = time.monotonic() - begin
    return found if took < SLOWEST else Outcome("HANG", f"took {took:.0f} s")


def _read_too(whole: Whole, harm: Harm, folder: Path) -> str:
    """What is wrong with the reading of a file that a command answered; "" where it is the same, or refused."""
    found = ended(whole, harm, folder / whole.name)
    return "" if found.how in FINE else f"{found.how}: {found.shown}"


# --- passes of a paddock that was stopped ---------------------------------------------------------------------------


@cache
def stopped() -> tuple[dict[str, bytes], bytes]:
    """Files beside a result whose paddock was stopped before it was joined, and the result that it comes to."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "a.toml").write_text(PADDOCK, encoding="utf-8")
        seen: dict[str, bytes] = {}

        def keep(*_: object) -> None:
            for path in sorted(parts_folder(folder / "r.h5").glob("*")):
                seen[f"r.h5.parts/{path.name}"] = path.read_bytes()

        run_batch(load_paddock(folder / "a.toml"), folder / "r.h5", 1, None, keep)
        return seen, (folder / "r.h5").read_bytes()


def parts_case(rng: Rng) -> Case:
    """Damage beside a result that is not finished, and the command that goes on."""
    files, result = stopped()
    name = pick(rng, tuple(PARTS))
    found = {"a.toml": PADDOCK.encode(), "r.h5.parts/": b"", **files}
    forged = PARTS[name](rng, found)
    words = ("paddock", "a.toml", "--out", "r.h5", "--workers", "1", *(["--json"] if rng.random() < 0.5 else []))
    return Case(f"passes, {name}", words, found, None if forged else partial(_joined, result))


def _joined(result: bytes, folder: Path) -> str:
    return "" if (folder / "r.h5").read_bytes() == result else "not the bytes of an uninterrupted run"


def _pass(rng: Rng) -> str:
    return f"r.h5.parts/pass-{int(rng.integers(2)):05d}.npz"


def _bits(rng: Rng, data: bytes, most: int) -> bytes:
    made = bytearray(data)
    for _ in range(int(rng.integers(1, most + 1))):
        made[int(rng.integers(len(made)))] ^= 1 << int(rng.integers(8))
    return bytes(made)


def _flipped(rng: Rng, files: dict[str, bytes]) -> bool:
    name = _pass(rng)
    files[name] = _bits(rng, files[name], 3)
    return False


def _sealed_again(rng: Rng, files: dict[str, bytes]) -> bool:
    name = _pass(rng)
    files[name] = sealed(_bits(rng, files[name][:-LENGTH], 3))
    return True


def _cut(rng: Rng, files: dict[str, bytes]) -> bool:
    name = _pass(rng)
    data = files[name][: int(rng.integers(len(files[name])))]
    files[name] = pick(rng, (data, sealed(data)))
    return False


def _swapped(rng: Rng, files: dict[str, bytes]) -> bool:
    """A pass in another's place, or beyond the last."""
    files[f"r.h5.parts/pass-{pick(rng, (0, 1, 2, 99)):05d}.npz"] = files[_pass(rng)]
    return False


def _other_arrays(rng: Rng, files: dict[str, bytes]) -> bool:
    """Arrays dropped, added, reshaped or of another type, sealed again."""
    name, made = _pass(rng), BytesIO()
    with np.load(BytesIO(files[name][:-LENGTH]), allow_pickle=False) as kept:
        arrays = {key: kept[key] for key in kept.files}
    key, how = pick(rng, tuple(arrays)), int(rng.integers(5))
    if how == 0:
        del arrays[key]
    elif how == 1:
        arrays["extra"] = np.zeros(3)
    elif how == 2:
        arrays[key] = arrays[key][None]
    elif how == 3:
        arrays[key] = np.array(["x", "\x1b[2J"])
    else:
        arrays[key] = np.zeros(arrays[key].shape, dtype="c16")
    np.savez(made, **arrays)
    files[name] = sealed(made.getvalue())
    return False


def _packed(rng: Rng, files: dict[str, bytes]) -> bool:
    """An archive that unpacks to far more, or holds what is no array."""
    made = BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(pick(rng, ("x.npy", "../x.npy", "meta.npy")), b"\0" * pick(rng, (0, 100, 30_000_000)))
    files[_pass(rng)] = sealed(made.getvalue())
    return False


def _about(rng: Rng, files: dict[str, bytes]) -> bool:
    name = "r.h5.parts/about.json"
    found = json.loads(files[name])
    key = pick(rng, tuple(found))
    found[key] = pick(rng, (None, -1, 10**400, 1e300, "x", "", "../../x", "\x1b[2J", [], {}, True, float("nan"), [[]]))
    files[name] = pick(rng, (
        json.dumps(found, default=str).encode(), _bits(rng, files[name], 2), b"", b"[" * 100_000, b"\xff\xfe", b"null",
    ))  # fmt: skip
    return False


def _strangers(rng: Rng, files: dict[str, bytes]) -> bool:
    """Files, folders and pipes that do not belong there."""
    listed = ("notes.txt", "pass-00000.npz", "pass-1.npz", "lock", "about.json", "x", ".joined.tmp")
    name = f"r.h5.parts/{pick(rng, listed)}"
    files.pop(name, None)
    files[name + pick(rng, ("/", "|", ""))] = b"hello"
    return False


def _less(rng: Rng, files: dict[str, bytes]) -> bool:
    """Something is gone."""
    del files[pick(rng, tuple(name for name in files if name.startswith("r.h5.parts/") and name[-1] != "/"))]
    return False


PARTS: dict[str, Callable[[Rng, dict[str, bytes]], bool]] = {
    "bits flipped": _flipped, "sealed again": _sealed_again, "cut": _cut, "swapped": _swapped,
    "other arrays": _other_arrays, "packed": _packed, "about": _about, "strangers": _strangers, "less": _less,
}  # fmt: skip
