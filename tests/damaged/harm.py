"""What disks, other programs and ill will make of a whole stored result, done to a copy of it, seeded.

Sealed cases are sealed again after the damage, as a forger would, so that the checks behind the seal meet them. Bits
changed in a number and sealed again make another whole file, which may say something else.
"""

from __future__ import annotations

import json
import random
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import h5py
import numpy as np

from analysis.storage.sealed import LENGTH, seal

HOSTILE = ("<script>alert(1)</script>", "../../x", "/etc/passwd", "a\x1b[2J", "a\x00b", "x" * 5000, "", "\ud800", "NaN")


class Harm(NamedTuple):
    """A kind of damage and how it is done to the copy of a whole file."""

    kind: str
    damage: Callable[[Path, random.Random], None]
    apart: bool = False  # may crash the HDF5 library, and may say something else: looked at in a process apart


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


HARMS = (
    Harm("one bit of the file flipped", _flipped),
    Harm("cut off", _cut),
    Harm("bytes put behind it", _longer),
    Harm("bits flipped, sealed again", _flipped_and_sealed, apart=True),
    Harm("a block zeroed or random, sealed again", _zeroed, apart=True),
    Harm("cut off, sealed again", _cut_and_sealed),
    *(Harm(kind, _edited(edit)) for kind, edit in (
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
