"""Damages whole stored results, seeded: what disks, other programs and ill will make of them, and what is said of it.

As a program it prints a table of kinds of damage, how many were tried and how each ended; what should not have been is
kept in FOLDER:

    python tests/support/damaged_results.py CASES SEED FOLDER

A case is one damage to one whole file. It may end refused (ScenarioError, with where, given, allowed and try), or read
to the same values as the whole file; anything else is wrong: another exception, another answer, over 10 s, a file left
behind. Bits changed in a number and sealed again make another whole file, which may say something else.

Sealed cases are sealed again after the damage, as a forger would, so that the checks behind the seal meet them; those
that can crash the HDF5 library go through the process apart, as in the program, the others are looked at here.
"""

from __future__ import annotations

import json
import random
import shutil
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import h5py
import numpy as np

from analysis.paddock.table import load_table
from analysis.storage import structure, trial
from analysis.storage.run_table import load_run_table
from analysis.storage.sealed import LENGTH, seal
from analysis.storage.stored_scenario import stored_scenario
from scenarios.format.errors import ScenarioError

SLOWEST = 10.0  # [s]
HOSTILE = ("<script>alert(1)</script>", "../../x", "/etc/passwd", "a\x1b[2J", "a\x00b", "x" * 5000, "", "\ud800", "NaN")


class Case(NamedTuple):
    """A kind of damage and how it is done to the copy of a whole file."""

    kind: str
    damage: Callable[[Path, random.Random], None]
    apart: bool = False  # looked at in a process apart


class Ended(NamedTuple):
    """How a case ended: `refused`, `same`, `other` (another whole file) or `wrong`, and why."""

    how: str
    why: str


# --- damage to bytes ------------------------------------------------------------------------------------------------


def _flipped(path: Path, rng: random.Random) -> None:
    data = bytearray(path.read_bytes())
    data[rng.randrange(len(data))] ^= 1 << rng.randrange(8)
    path.write_bytes(data)


def _flipped_and_sealed(path: Path, rng: random.Random) -> None:
    data = bytearray(path.read_bytes()[:-LENGTH])
    for _ in range(rng.choice((1, 1, 1, 3, 20))):
        data[rng.randrange(len(data))] ^= 1 << rng.randrange(8)
    path.write_bytes(data)
    seal(path)


def _cut(path: Path, rng: random.Random) -> None:
    data = path.read_bytes()
    path.write_bytes(data[: rng.randrange(len(data))])


def _cut_and_sealed(path: Path, rng: random.Random) -> None:
    _cut(path, rng)
    seal(path)


def _longer(path: Path, rng: random.Random) -> None:
    path.write_bytes(path.read_bytes() + rng.randbytes(rng.randrange(1, 400)))


def _zeroed(path: Path, rng: random.Random) -> None:
    data = bytearray(path.read_bytes()[:-LENGTH])
    begin = rng.randrange(len(data))
    size = min(rng.choice((8, 64, 512, 4096)), len(data) - begin)
    data[begin : begin + size] = bytes(size) if rng.random() < 0.5 else rng.randbytes(size)
    path.write_bytes(data)
    seal(path)


# --- damage to what HDF5 holds --------------------------------------------------------------------------------------


def _edited(edit: Callable[[h5py.File, random.Random], None]) -> Callable[[Path, random.Random], None]:
    def damage(path: Path, rng: random.Random) -> None:
        with h5py.File(path, "r+") as file:
            edit(file, rng)
        seal(path)

    return damage


def _all(file: h5py.File, texts: bool | None = None) -> list[str]:
    found: list[str] = []
    file.visititems(lambda name, item: found.append(name) if isinstance(item, h5py.Dataset) else None)
    kinds = {name: h5py.check_string_dtype(file[name].dtype) is not None for name in found}
    return [name for name in found if texts is None or kinds[name] is texts]


def _replace(file: h5py.File, name: str, **made: Any) -> None:
    units = file[name].attrs.get("units")
    del file[name]
    if isinstance(made.get("data"), str) and "\x00" in made["data"]:  # only texts of a fixed length hold that
        made["data"] = np.bytes_(b"a" + made["data"].encode() + b"b")
    file.create_dataset(name, **made)
    if units is not None:
        file[name].attrs["units"] = units


def _dropped(file: h5py.File, rng: random.Random) -> None:
    del file[rng.choice([*_all(file), *(name for name in file if isinstance(file[name], h5py.Group))])]


def _renamed(file: h5py.File, rng: random.Random) -> None:
    name = rng.choice(_all(file))
    file.move(name, name + rng.choice(("_", " ", "é", "x" * 300)))


def _added(file: h5py.File, rng: random.Random) -> None:
    file.create_dataset(rng.choice(("extra", "inputs/extra", "inputs/deep/er", "..", "é")), data=[1.0])


def _reshaped(file: h5py.File, rng: random.Random) -> None:
    name = rng.choice(_all(file, texts=False))
    values = file[name][...]
    new = rng.choice((values.ravel()[: max(values.size // 2, 1)], values[None], np.concatenate([values, values])))
    _replace(file, name, data=new if new.shape != values.shape else values.ravel()[:1])


def _retyped(file: h5py.File, rng: random.Random) -> None:
    name = rng.choice(_all(file, texts=False))
    old = file[name].dtype
    kind = rng.choice([k for k in ("f4", "f8", "i1", "i4", "i8", "u2", "c16", "S8") if np.dtype(k) != old])
    with np.errstate(all="ignore"):
        values = np.nan_to_num(file[name][...]).astype(kind)
    _replace(file, name, data=values)


def _strange_types(file: h5py.File, rng: random.Random) -> None:
    name = rng.choice(_all(file))
    made: dict[str, Any] = rng.choice((
        {"data": h5py.Empty("f8")},
        {"data": np.zeros(3, dtype=[("a", "f8"), ("b", "i4")])},
        {"shape": (2,), "dtype": h5py.ref_dtype},
        {"shape": (2,), "dtype": h5py.vlen_dtype(np.float64)},
        {"data": np.array([1, 2], dtype=h5py.enum_dtype({"A": 1, "B": 2}, basetype="i4"))},
    ))  # fmt: skip
    _replace(file, name, **made)
    if made.get("dtype") is h5py.ref_dtype:
        file[name][0] = file.ref


def _not_finite(file: h5py.File, rng: random.Random) -> None:
    """Infinite or absurd values, and NaN where none may stand."""
    name = rng.choice([n for n in _all(file, texts=False) if file[n].dtype.kind == "f" and file[n].size])
    values = file[name][...]
    bad = rng.choice((np.inf, -np.inf, 3e38))
    values.flat[rng.randrange(values.size)] = bad
    file[name][...] = values


def _whole_numbers_astray(file: h5py.File, rng: random.Random) -> None:
    names = [n for n in _all(file, texts=False) if file[n].dtype.kind == "i" and n.rpartition("_")[2] in
             ("setting", "pass", "row", "worst", "zone") and "_" in n]  # fmt: skip
    name = rng.choice(names or [n for n in _all(file, texts=False) if file[n].size])
    values = file[name][...]
    if values.size:
        values.flat[rng.randrange(values.size)] = 100 if values.dtype.kind == "i" else np.inf
        file[name][...] = values
    else:
        del file[name]


def _units_changed(file: h5py.File, rng: random.Random) -> None:
    name = rng.choice([n for n in _all(file) if "units" in file[n].attrs])
    file[name].attrs["units"] = rng.choice(("mm", "", "bar", 3.0, HOSTILE[0]))


def _mark_dropped(file: h5py.File, rng: random.Random) -> None:
    place = rng.choice((file, file["inputs"]))
    key = rng.choice([k for k in place.attrs if not k.startswith("version_") and k != "profile"])
    del place.attrs[key]


def _mark_changed(file: h5py.File, rng: random.Random) -> None:
    place = rng.choice((file, file["inputs"]))
    key = rng.choice([k for k in place.attrs if k not in ("title", "paddock", "scenario", "profile")])
    old = place.attrs[key]
    new = rng.choice((float("nan"), -1, 2**62, 1e300, [1, 2], "\x1b[2J", b"\xff\xfe", h5py.Empty("f8"), file.ref))
    place.attrs[key] = old if key.startswith("version_") else new
    if key.startswith("version_"):
        place.attrs[key] = "\x1b]0;x\x07"


def _text_changed(file: h5py.File, rng: random.Random) -> None:
    name = rng.choice([n for n in _all(file, texts=True) if not file[n].shape and not n.endswith("_toml")])
    text = file[name][()].decode()
    new = rng.choice((text[: len(text) // 2], "", "[" * 100_000, "NaN", "1" * 5000, "null", "3", '"x"', "{}", "[[]]",
                      text + "x", "\x00", text.replace("[", "{", 1)))  # fmt: skip
    _replace(file, name, data=new if new not in (text, "[]") else "{]")


def _values(found: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Places of all values in JSON."""
    pairs = found.items() if isinstance(found, dict) else enumerate(found) if isinstance(found, list) else ()
    return [path, *(place for key, value in pairs for place in _values(value, (*path, key)))]


def _json_changed(file: h5py.File, rng: random.Random) -> None:
    """One value in one JSON text becomes another kind of thing, or goes."""
    names = ("inputs/parameters_si", "inputs/taken_over", "inputs/inputs_si", "inputs/limits_si")
    name = rng.choice([n for n in names if n in file])
    found = json.loads(file[name][()])
    *way, last = rng.choice(_values(found)[1:])
    inner = found
    for key in way:
        inner = inner[key]
    bad = rng.choice((float("nan"), float("inf"), -1e30, 10**400, "../../x", "<script>", [], {}, True, "\x1b[2J"))
    if rng.random() < 0.2 and isinstance(inner, dict):
        del inner[last]
    else:
        inner[last] = bad
    sys.set_int_max_str_digits(0)
    _replace(file, name, data=json.dumps(found))


def _linked(file: h5py.File, rng: random.Random) -> None:
    name = rng.choice(_all(file))
    del file[name]
    file[name] = rng.choice((
        h5py.SoftLink("/inputs"), h5py.SoftLink("/nowhere"), h5py.ExternalLink("/etc/passwd", "/x"),
        h5py.ExternalLink(file.filename, "/x"), file["inputs"], file,
    ))  # fmt: skip


def _elsewhere(file: h5py.File, rng: random.Random) -> None:
    """Raw data of another file, or a virtual dataset."""
    name = rng.choice(_all(file, texts=False))
    shape, kind = file[name].shape or (1,), file[name].dtype
    units = file[name].attrs.get("units", "1")
    del file[name]
    if rng.random() < 0.5:
        file.create_dataset(name, shape, dtype=kind, external=[("/etc/passwd", 0, h5py.h5f.UNLIMITED)])
    else:
        layout = h5py.VirtualLayout(shape=shape, dtype=kind)
        layout[...] = h5py.VirtualSource("/etc/passwd", "x", shape=shape)
        file.create_virtual_dataset(name, layout)
    file[name].attrs["units"] = units


def _huge(file: h5py.File, rng: random.Random) -> None:
    """Declares far more than it holds."""
    name = rng.choice(_all(file, texts=False))
    ndim, kind = max(file[name].ndim, 1), file[name].dtype
    size = rng.choice((10**6, 10**10, 2**62 // 8))
    shape = (size, *file[name].shape[1:]) if ndim > 1 else (size,)
    chunks = tuple(min(n, 1000) or 1 for n in shape) if rng.random() < 0.7 else None
    packed = {"compression": "gzip"} if chunks and rng.random() < 0.5 else {}
    try:
        _replace(file, name, shape=shape, dtype=kind, chunks=chunks, **packed)
    except (ValueError, OSError, RuntimeError):  # more than HDF5 takes: the dataset is then missing
        return


def _packed_otherwise(file: h5py.File, rng: random.Random) -> None:
    name = rng.choice([n for n in _all(file, texts=False) if file[n].size and file[n].ndim])
    values = file[name][...]
    _replace(file, name, data=values, chunks=True, compression="lzf")


def _base_elsewhere(file: h5py.File, rng: random.Random) -> None:
    """Texts that name files of the reader's."""
    own = "inputs/scenario_toml" if "inputs/scenario_toml" in file else "inputs/paddock_toml"
    text = file[own][()].decode()
    if own.startswith("inputs/scenario"):
        new = rng.choice((
            text + '\n[ground.profile]\nfile = "/etc/passwd"\n', "x = ", "[" * 3000, "\x00",
            text.replace("[ground]", '[ground]\nprofile = { file = "../../secret.csv" }', 1),
        ))  # fmt: skip
        _replace(file, own, data=new)
    else:
        file["inputs"].attrs["paddock"] = "a\x1b[2J"


def _names_changed(file: h5py.File, rng: random.Random) -> None:
    """Hostile texts where texts may stand: refused, or the same numbers under that name."""
    key = "scenario" if "scenario" in file["inputs"].attrs else "paddock"
    text = rng.choice(HOSTILE)
    file["inputs"].attrs[key] = text.encode("utf-8", "surrogatepass") if "\ud800" in text else text.replace("\x00", "?")


CASES = (
    Case("one bit of the file flipped", _flipped),
    Case("cut off", _cut),
    Case("bytes put behind it", _longer),
    Case("bits flipped, sealed again", _flipped_and_sealed, apart=True),
    Case("a block zeroed or random, sealed again", _zeroed, apart=True),
    Case("cut off, sealed again", _cut_and_sealed),
    *(Case(kind, _edited(edit)) for kind, edit in (
        ("a dataset dropped", _dropped), ("a dataset renamed", _renamed), ("an object added", _added),
        ("a dataset of another shape", _reshaped), ("numbers of another type", _retyped),
        ("compounds, references, enums, empty", _strange_types), ("infinite or absurd numbers", _not_finite),
        ("whole numbers out of range", _whole_numbers_astray), ("another unit", _units_changed),
        ("an attribute dropped", _mark_dropped), ("an attribute changed", _mark_changed),
        ("a text that is no JSON of ours", _text_changed), ("a value in JSON changed", _json_changed),
        ("links in place of data", _linked), ("data in another file, virtual data", _elsewhere),
        ("more declared than held", _huge), ("packed by another filter", _packed_otherwise),
        ("texts that name other files", _base_elsewhere), ("hostile names", _names_changed),
    )),
)  # fmt: skip
"""Every kind of damage."""


# --- what is said of it ---------------------------------------------------------------------------------------------


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


def ended(path: Path, read: Callable[[Path], str], whole: str, apart: bool) -> Ended:
    """How the reading of one file ends. whole: what the undamaged file says."""
    here = trial._apart
    begin = time.monotonic()
    try:
        if not apart:
            trial._apart = lambda place: structure.unsound(str(place))
        said = read(path)
        found = Ended("same", "") if said == whole else Ended("other" if apart else "wrong", "another answer")
    except ScenarioError as error:
        told = all("; allowed: " in text and "; try: " in text for text in error.faults)
        clean = str(error).replace("\n", "").isprintable()
        found = Ended("refused", str(error)) if told and clean else Ended("wrong", f"not in the form: {error}")
    except Exception as error:
        found = Ended("wrong", f"{type(error).__name__}: {error}")
    finally:
        trial._apart = here
    took = time.monotonic() - begin
    return found if took < SLOWEST else Ended("wrong", f"took {took:.0f} s")


class Whole(NamedTuple):
    """A whole file, its reader, and what that says of it."""

    path: Path
    read: Callable[[Path], str]
    said: str


def tried(wholes: list[Whole], case: Case, number: int, seed: int, folder: Path) -> tuple[Path, Ended]:
    """One case in a folder of its own → the damaged file, how it ended."""
    rng = random.Random(f"{case.kind} {number} {seed}")
    whole = wholes[number % len(wholes)]
    path = folder / f"case_{number}{whole.path.suffix}"
    shutil.copyfile(whole.path, path)
    case.damage(path, rng)
    found = ended(path, whole.read, whole.said, case.apart)
    left = [p.name for p in folder.iterdir() if p != path]
    return path, Ended("wrong", f"left behind: {left}") if left else found


def made(folder: Path) -> list[Whole]:
    """Small whole files to damage: a run on made-up ground, one on measured ground, a paddock."""
    import paddocks  # noqa: PLC0415

    from analysis.crossing.summary import run_summary  # noqa: PLC0415
    from analysis.paddock.batch import run_batch  # noqa: PLC0415
    from analysis.storage.run_file import save_run  # noqa: PLC0415
    from scenarios.load import load  # noqa: PLC0415
    from sim.run import simulate  # noqa: PLC0415

    (folder / "unit.toml").write_text('[unit]\nbase = "demo"\n[unit.carrier]\nmass_kg = 97\n', encoding="utf-8")
    text = 'title = "Small"\n[unit]\nbase = "unit.toml"\n[ground]\nlength_m = 10\nseed = 5\n'
    (folder / "small.toml").write_text(text + 'roughness = { class = "D" }\n', encoding="utf-8")
    lines = "".join(f"{0.1 * k:.2f},{0.01 * (k % 7):.5f}\n" for k in range(120))
    (folder / "line.csv").write_text("distance_m,height_m\n" + lines, encoding="utf-8")
    wholes = []
    for name, profile in (("run", None), ("measured", folder / "line.csv")):
        changes = {"settings.oil_pressure_bar": 45.0}
        scenario = load(folder / "small.toml", profile=profile, changes=changes)
        run = simulate(scenario.unit, scenario.soil, scenario.track(), scenario.settings)
        path = folder / f"{name}.h5"
        save_run(path, run, scenario, run_summary(run, scenario), changes)
        wholes.append(Whole(path, read_run, read_run(path)))
    tables = {"passes": "count = 2\nlength_m = 10\nsection_m = 5\nlatitude = -33\nlongitude = 148",
              "keep": "series_every_m = 1"}  # fmt: skip
    more = '[stones]\nstones_per_ha = 30000\n[[zones]]\nname = "low"\nstart_m = [0, 0]\nend_m = [10, 1.25]'
    paddock = paddocks.small(folder, tables, more)
    run_batch(paddock, folder / "paddock.h5", workers=1)
    wholes.append(Whole(folder / "paddock.h5", read_paddock, read_paddock(folder / "paddock.h5")))
    return wholes


def main(count: int, seed: int, kept: Path) -> int:
    """Try so many cases, print the table → number of cases that ended wrongly."""
    outcomes: dict[str, Counter[str]] = {case.kind: Counter() for case in CASES}
    wrong = 0
    with tempfile.TemporaryDirectory() as place:
        wholes = made(Path(place))
        for number in range(count):
            case = CASES[number % len(CASES)]
            with tempfile.TemporaryDirectory() as folder:
                path, found = tried(wholes, case, number // len(CASES), seed, Path(folder))
                outcomes[case.kind][found.how] += 1
                if found.how == "wrong":
                    wrong += 1
                    kept.mkdir(parents=True, exist_ok=True)
                    shutil.copyfile(path, kept / f"{number}_{path.name}")
                    sys.stderr.write(f"{number} {case.kind}: {found.why}\n")
    every: Counter[str] = sum(outcomes.values(), Counter())
    sys.stdout.write(f"| kind of damage | cases | refused | same | other | wrong |\n|{' --- |' * 6}\n")
    for kind, ends in {**outcomes, "all": every}.items():
        said = " | ".join(str(ends[how]) for how in ("refused", "same", "other", "wrong"))
        sys.stdout.write(f"| {kind} | {ends.total()} | {said} |\n")
    return wrong


if __name__ == "__main__":
    sys.exit(1 if main(int(sys.argv[1]), int(sys.argv[2]), Path(sys.argv[3])) else 0)
