"""A whole paddock in one HDF5 file that xarray (engine h5netcdf) opens as it is.

At the root: dimension scales `setting`, `pass`, `row`, `section`, `pin`, `cause`, `error_bin`, `load_bin`, `episode`,
`breakout`, `sample` and the measures over them, each with `units` and `long_name`. The group `inputs` holds the
paddock file's text, everything that decides the numbers, and the seeds; attributes hold versions and format version.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path
from typing import Any, NamedTuple

import h5py
import numpy as np
from numpy.typing import NDArray

from analysis.crossing.measures import by_row, by_section, by_setting
from analysis.paddock.fingerprint import inputs, versions
from analysis.paddock.heeds import Found, plain, put
from analysis.paddock.positions import positions
from analysis.paddock.result import BREAKOUT, EPISODE, SIZES, PassResult, row_kind, section_kind, sections_of
from analysis.paddock.series import SERIES, sample_count
from analysis.paddock.store_parts import FORMAT, FORMAT_VERSION, Parts
from analysis.rows.reduced import ERROR_BINS, GAUGE_BINS, Histogram
from scenarios.format.errors import ScenarioError, fault, shown
from scenarios.paddock.paddock import Paddock
from sim.hydraulics.cylinder import downforce
from sim.record import CAUSES, PINS

WANTED = "a whole file that rowbench paddock wrote"
_PACKED: dict[str, Any] = {"compression": "gzip", "compression_opts": 4, "shuffle": True, "fletcher32": True}


def join_parts(paddock: Paddock, parts: Parts, print_: str) -> None:
    """Join all passes to the result they belong to, one at a time.

    Raises ScenarioError where the disk is full or cannot be written, or a pass is damaged.
    """
    with parts.joining() as temporary, h5py.File(temporary, "w", libver=("earliest", "v110")) as file:
        _Writer(file, paddock, print_).write(parts)


class Kept(NamedTuple):
    """What a dataset says of itself: unit, meaning, number type."""

    unit: str
    doc: str
    kind: str = "f4"


class _Writer:
    """Lays out the file and fills it pass by pass."""

    def __init__(self, file: h5py.File, paddock: Paddock, print_: str) -> None:
        self.file, self.paddock, self.print_ = file, paddock, print_
        self.sections = max(sections_of(paddock.length(i), paddock.passes.section) for i in range(paddock.count))
        self.sizes = {"setting": len(paddock.tried), "pass": paddock.count, "row": paddock.machine.rows,
                      "section": self.sections, **SIZES}  # fmt: skip

    def write(self, parts: Parts) -> None:
        """Everything."""
        self._head()
        self._scales()
        for name, m in by_section().items():
            self._make(name, Kept(m.unit, m.doc, section_kind(m)), ("setting", "pass", "row", "section"))
        for name, m in by_row().items():
            self._make(name, Kept(m.unit, m.doc, row_kind(m)), ("setting", "pass", "row", *m.dims))
        self._make("section_x", Kept("m", "place of each section's middle along the passes"), ("pass", "section"))
        self._make("section_length", Kept("m", "length of row in each section"), ("pass", "section"))
        self._make("row_y", Kept("m", "place of each row across the paddock"), ("pass", "row"))
        zones = ", ".join(f"{i} {z.name}" for i, z in enumerate(self.paddock.zones, start=1)) or "there are none"
        self._make("zone", Kept("1", f"zone of each section's middle, 0: none; {zones}", kind="i1"),
                   ("pass", "row", "section"))  # fmt: skip
        place = [positions(self.paddock, i) if self.paddock.placed else None for i in range(self.paddock.count)]
        if self.paddock.placed:
            for name in ("latitude", "longitude"):
                way = "north" if name == "latitude" else "east"
                self._make(name, Kept(f"degrees_{way}", f"{name} of each section's middle", kind="f8"),
                           ("pass", "row", "section"))  # fmt: skip
        events: dict[str, list[NDArray[np.float32]]] = {"episode": [], "breakout": []}
        problems: list[list[Any]] = []
        heeds: Found = {}
        known = {name: np.full(len(self.paddock.tried), np.nan) for name in by_setting()}
        for number in range(self.paddock.count):
            result = parts.read(number)
            self._pass(result)
            found = place[number]
            if found is not None:
                for name, values in zip(("latitude", "longitude"), found, strict=True):
                    self.file[name][number, :, : values.shape[1]] = values
            for kind, table in (("episode", result.episodes), ("breakout", result.breakouts)):
                events[kind].append(np.column_stack([np.full(len(table), number, dtype=np.float32), table]))
            problems += [[i, number, j, text] for (i, j), text in sorted(result.problems.items())]
            for warned in result.heeds.values():
                put(heeds, warned)
            for name, values in result.by_setting.items():
                known[name][np.isfinite(values)] = values[np.isfinite(values)]
        self._settings(known)
        self._events("episode", EPISODE, np.concatenate(events["episode"]))
        self._events("breakout", BREAKOUT, np.concatenate(events["breakout"]))
        self.file["inputs"].create_dataset("problems", data=json.dumps(problems))
        self.file["inputs"].create_dataset("heeds", data=json.dumps(plain(heeds)))

    def _head(self) -> None:
        file, paddock = self.file, self.paddock
        file.attrs["format"] = FORMAT
        file.attrs["format_version"] = FORMAT_VERSION
        file.attrs["fingerprint"] = self.print_
        file.attrs["title"] = paddock.title
        for name, text in versions().items():
            file.attrs[f"version_{name}"] = text
        group = file.create_group("inputs")
        group.attrs["paddock"] = paddock.name
        group.attrs["seed"] = paddock.seed
        group.attrs["source_folder"] = str(paddock.path.resolve().parent)
        group.create_dataset("paddock_toml", data=paddock.text)
        group.create_dataset("inputs_si", data=json.dumps(inputs(paddock)))
        group.create_dataset("limits_si", data=json.dumps(asdict(paddock.limits)))
        group.create_dataset("warnings", data=json.dumps([*filter(None, [paddock.origin]), *paddock.warnings]))

    def _scales(self) -> None:
        for name in ("setting", "pass", "row", "section"):
            self._scale(name, np.arange(self.sizes[name], dtype=np.int32), "1", f"number of the {name}, from 0")
        for name, words in (("pin", PINS), ("cause", CAUSES)):
            self._scale(name, np.array(words, dtype=h5py.string_dtype()), "1", f"name of the {name}")
        self._scale("error_bin", _middles(ERROR_BINS), "m", "middle of a bin of depth error; the ends hold the rest")
        self._scale("load_bin", _middles(GAUGE_BINS), "N", "middle of a bin of gauge load; the first holds 0")
        every = self.paddock.keep.series_every
        if every is not None:
            longest = max(self.paddock.length(i) for i in range(self.paddock.count))
            at = every * np.arange(sample_count(longest, every))
            self._scale("sample", at, "m", "travel from the start of the measured stretch")
            self.sizes["sample"] = at.size
            for name, described in SERIES.items():
                self._make(f"series_{name}", Kept(*described), ("setting", "pass", "row", "sample"))

    def _scale(self, name: str, values: NDArray[Any], unit: str, doc: str) -> None:
        made = self.file.create_dataset(name, data=values)
        made.attrs["units"], made.attrs["long_name"] = unit, doc
        made.make_scale(name)

    def _make(self, name: str, m: Kept, dims: tuple[str, ...]) -> None:
        """An empty dataset over dimensions, a chunk for each pass."""
        shape = tuple(self.sizes[d] for d in dims)
        chunk = tuple(1 if d == "pass" else max(self.sizes[d], 1) for d in dims)
        fill = np.nan if m.kind.startswith("f") else 0
        made = self.file.create_dataset(name, shape, dtype=m.kind, chunks=chunk, fillvalue=fill, **_PACKED)
        made.attrs["units"], made.attrs["long_name"] = m.unit, m.doc
        for axis, dim in enumerate(dims):
            made.dims[axis].attach_scale(self.file[dim])

    def _pass(self, result: PassResult) -> None:
        p, n = result.number, result.section_x.size
        for name, values in result.sections.items():
            self.file[name][:, p, :, :n] = values
        for name, values in result.totals.items():
            self.file[name][:, p] = values
        self.file["section_x"][p, :n] = result.section_x
        self.file["section_length"][p, :n] = result.section_length
        self.file["row_y"][p] = result.row_y
        self.file["zone"][p, :, :n] = result.zone
        for k, name in enumerate(SERIES):
            count = result.series.shape[3]
            if count:
                self.file[f"series_{name}"][:, p, :, :count] = result.series[:, :, k]

    def _settings(self, known: dict[str, NDArray[np.float64]]) -> None:
        tried = self.paddock.tried
        table: dict[str, tuple[Any, str, str]] = {
            "oil_pressure": ([s.oil_pressure for s in tried], "Pa", "oil pressure set, gauge"),
            "speed": ([s.speed for s in tried], "m/s", "travel speed"),
            "downforce": ([downforce(self.paddock.unit, s.oil_pressure) for s in tried], "N", "downforce of one row"),
            **{m.stored: (known[name], m.unit, m.doc) for name, m in by_setting().items()},
        }
        for name, (values, unit, doc) in table.items():
            made = self.file.create_dataset(name, data=np.asarray(values, dtype=np.float64))
            made.attrs["units"], made.attrs["long_name"] = unit, doc
            made.dims[0].attach_scale(self.file["setting"])

    def _events(self, kind: str, columns: tuple[tuple[str, str, str], ...], table: NDArray[np.float32]) -> None:
        """A list of events, one dataset for each column, over a dimension of its own."""
        self._scale(kind, np.arange(len(table), dtype=np.int32), "1", f"number of the {kind}, from 0")
        for k, (name, unit, doc) in enumerate((("pass", "1", "number of the pass"), *columns)):
            whole = unit == "1"
            values = table[:, k].astype(np.int32 if whole else np.float32)
            packed = _PACKED if len(table) else {}
            made = self.file.create_dataset(f"{kind}_{name}", data=values, **packed)
            made.attrs["units"], made.attrs["long_name"] = unit, doc
            made.dims[0].attach_scale(self.file[kind])


def _middles(bins: Histogram) -> NDArray[np.float64]:
    return bins.low + bins.width * (np.arange(bins.bins + 2, dtype=np.float64) - 0.5)


@contextmanager
def opened(path: Path) -> Iterator[h5py.File]:
    """A result, open to read. Raises ScenarioError: missing, damaged, of another kind or version."""
    try:
        file = h5py.File(path, "r")
    except FileNotFoundError:
        raise refused(path, "there is no such file", WANTED, "check the path") from None
    except OSError as error:
        raise _damaged(path, error) from None
    with file:
        kind, number = file.attrs.get("format", ""), file.attrs.get("format_version", 0)
        if kind != FORMAT:
            raise refused(path, f"HDF5 of another kind ({shown(str(kind))})", f"format {shown(FORMAT)}", WANTED)
        if int(number) != FORMAT_VERSION:
            raise refused(path, f"format version {number}", f"version {FORMAT_VERSION}",
                           "the rowbench that wrote it, or compute it again to another --out")  # fmt: skip
        try:
            yield file
        except (OSError, KeyError, RuntimeError) as error:
            raise _damaged(path, error) from None


def check_result(path: Path, print_: str) -> None:
    """Raises ScenarioError where a file is no whole result of these inputs: every dataset is read once."""
    with opened(path) as file:
        if file.attrs["fingerprint"] != print_:
            name = file["inputs"].attrs["paddock"]
            raise refused(path, f"a result of another paddock or other settings ({name})",
                           "one of this file as it is now", "another --out, or delete it")  # fmt: skip
        for name in file:
            if isinstance(file[name], h5py.Dataset):
                file[name][...]


def _damaged(path: Path, error: Exception) -> ScenarioError:
    reason = str(error).strip("'\"").split("(")[0].strip() or type(error).__name__
    return refused(path, f"damaged or no HDF5 file ({reason})", WANTED, "delete it and compute it again")


def refused(path: Path, given: str, allowed: str, hint: str) -> ScenarioError:
    """The error for a result that cannot be read."""
    return ScenarioError([fault(str(path), given, allowed, hint)])
