"""A whole paddock in one HDF5 file that xarray (engine h5netcdf) opens as it is.

At the root: dimension scales `setting`, `pass`, `row`, `section`, `pin`, `cause`, `error_bin`, `load_bin`, `episode`,
`breakout`, `sample` and the measures over them, each with `units` and `long_name`. The group `inputs` holds the
paddock file's text, everything that decides the numbers, and the seeds; attributes hold versions and format version.
Every dataset is described in `analysis.storage.paddock_layout`; a checksum over the whole file follows it (`sealed`).
The same paddock gives the same bytes, wherever and whenever: no place and no time is in the file.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import h5py
import numpy as np
from numpy.typing import NDArray

from analysis.crossing.heed import gas_notes
from analysis.crossing.measures import by_setting
from analysis.paddock.doubt.find import find_sampled
from analysis.paddock.doubt.sampled import Sampled
from analysis.paddock.fingerprint import inputs, versions
from analysis.paddock.heeds import Found, plain, put
from analysis.paddock.positions import positions
from analysis.paddock.result import PassResult, sections_of
from analysis.paddock.series import sample_count
from analysis.paddock.store_parts import Parts
from analysis.paddock.table import load_table
from analysis.parallel import Progress
from analysis.rows.reduced import ERROR_BINS, GAUGE_BINS, Histogram
from analysis.storage import paddock_layout as layout
from analysis.storage.description import Data, line, opened, tame
from analysis.storage.hdf5_whole import new_hdf5
from analysis.storage.paddock_layout import FORMAT, FORMAT_VERSION, SERIES, SIZES
from analysis.storage.sealed import seal
from scenarios.paddock.paddock import Paddock
from sim.hydraulics.cylinder import downforce
from sim.record import CAUSES, PINS

AT_ONCE = 1_000_000  # passes are written together until they take so much [bytes]
_PACKED: dict[str, Any] = {"compression": "gzip", "compression_opts": 4, "shuffle": True, "fletcher32": True}


def join_parts(
    paddock: Paddock, parts: Parts, print_: str, workers: int | None = None, told: Progress | None = None
) -> None:
    """Join all passes to the result they belong to, one at a time.

    Where the file leaves values in doubt the passes are joined once before, that it is known which settings to cross
    with other values (`analysis.paddock.doubt.find`); told as there. Raises ScenarioError where the disk is full or
    cannot be written, or a pass is damaged.
    """
    with parts.joining() as temporary:
        sampled = None
        if paddock.uncertain is not None:
            _write(temporary, paddock, parts, print_, None)
            sampled = find_sampled(paddock, load_table(temporary), workers, told)
        _write(temporary, paddock, parts, print_, sampled)


def _write(path: Path, paddock: Paddock, parts: Parts, print_: str, sampled: Sampled | None) -> None:
    with new_hdf5(path) as file:
        _Writer(file, paddock, print_).write(parts)
        if sampled is not None:
            file["inputs"].create_dataset("doubt", data=json.dumps(sampled.document()))
    seal(path)


class _Writer:
    """Lays out the file and fills it pass by pass."""

    def __init__(self, file: h5py.File, paddock: Paddock, print_: str) -> None:
        self.file, self.paddock, self.print_ = file, paddock, print_
        self.sections = max(sections_of(paddock.length(i), paddock.passes.section) for i in range(paddock.count))
        self.sizes = {"setting": len(paddock.tried), "pass": paddock.count, "row": paddock.machine.rows,
                      "section": self.sections, **SIZES}  # fmt: skip
        self.passes: dict[str, int] = {}  # which dimension of a dataset counts the passes

    def write(self, parts: Parts) -> None:
        """Everything."""
        self._head()
        self._scales()
        zones = ", ".join(f"{i} {z.name}" for i, z in enumerate(self.paddock.zones, start=1)) or "there are none"
        self._make_all(layout.over_passes(zones))
        if self.paddock.placed:
            self._make_all(layout.positions())
        events: dict[str, list[NDArray[np.float32]]] = {"episode": [], "breakout": []}
        problems: list[list[Any]] = []
        heeds: Found = {}
        known = {name: np.full(len(self.paddock.tried), np.nan) for name in by_setting()}
        for results in _some(parts, self.paddock.count):
            self._passes(results)
            for result in results:
                for kind, table in (("episode", result.episodes), ("breakout", result.breakouts)):
                    whose = np.full(len(table), result.number, dtype=np.float32)
                    events[kind].append(np.column_stack([whose, table]))
                problems += [[i, result.number, j, text] for (i, j), text in sorted(result.problems.items())]
                for warned in result.heeds.values():
                    put(heeds, warned)
                for name, values in result.by_setting.items():
                    known[name][np.isfinite(values)] = values[np.isfinite(values)]
        self._settings(known)
        for kind, tables in events.items():
            self._events(kind, np.concatenate(tables))
        self.file["inputs"].create_dataset("problems", data=json.dumps(problems))
        self.file["inputs"].create_dataset("heeds", data=json.dumps(plain(heeds)))

    def _head(self) -> None:
        file, paddock = self.file, self.paddock
        file.attrs["format"] = FORMAT
        file.attrs["format_version"] = FORMAT_VERSION
        file.attrs["fingerprint"] = self.print_
        file.attrs["title"] = line(paddock.title)
        for name, text in versions().items():
            file.attrs[f"version_{name}"] = text
        group = file.create_group("inputs")
        group.attrs["paddock"] = line(paddock.name)
        group.attrs["seed"] = paddock.seed
        group.create_dataset("paddock_toml", data=paddock.text)
        group.create_dataset("inputs_si", data=json.dumps(inputs(paddock)))
        group.create_dataset("limits_si", data=json.dumps(asdict(paddock.limits)))
        gas = gas_notes(paddock.unit, paddock.settings, paddock.limits.gas_rule, paddock.search.pressures)
        told = [tame(text) for text in (*filter(None, [paddock.origin]), *paddock.warnings, *gas)]
        group.create_dataset("warnings", data=json.dumps(told))

    def _scales(self) -> None:
        for name in layout.PLACES:
            self._scale(name, np.arange(self.sizes[name], dtype=np.int32))
        for name, words in (("pin", PINS), ("cause", CAUSES)):
            self._scale(name, np.array(words, dtype=h5py.string_dtype()))
        self._scale("error_bin", _middles(ERROR_BINS))
        self._scale("load_bin", _middles(GAUGE_BINS))
        every = self.paddock.keep.series_every
        if every is not None:
            longest = max(self.paddock.length(i) for i in range(self.paddock.count))
            at = every * np.arange(sample_count(longest, every), dtype=np.float64)
            self._scale("sample", at)
            self.sizes["sample"] = at.size
            self._make_all(layout.series())

    def _scale(self, name: str, values: NDArray[Any]) -> None:
        described = layout.scales()[name]
        made = self.file.create_dataset(name, data=values)
        made.attrs["units"], made.attrs["long_name"] = described.unit, described.doc
        made.make_scale(name)

    def _make_all(self, described: Mapping[str, Data]) -> None:
        """Empty datasets over dimensions, a chunk for each pass."""
        for name, data in described.items():
            shape = tuple(self.sizes[d] for d in data.dims)
            chunk = tuple(1 if d == "pass" else max(self.sizes[d], 1) for d in data.dims)
            fill = np.nan if data.kind.startswith("f") else 0
            made = self.file.create_dataset(name, shape, dtype=data.kind, chunks=chunk, fillvalue=fill, **_PACKED)
            made.attrs["units"], made.attrs["long_name"] = data.unit, data.doc
            for axis, dim in enumerate(data.dims):
                made.dims[axis].attach_scale(self.file[dim])
            self.passes[name] = data.dims.index("pass")

    def _passes(self, results: Sequence[PassResult]) -> None:
        """What is known of passes that follow one another."""
        first = results[0]
        for name in first.sections:
            self._fill(name, results, [r.sections[name] for r in results])
        for name in first.totals:
            self._fill(name, results, [r.totals[name] for r in results])
        for name in ("section_x", "section_length", "row_y", "zone"):
            self._fill(name, results, [getattr(r, name) for r in results])
        for k, name in enumerate(SERIES if "sample" in self.sizes else ()):
            self._fill(f"series_{name}", results, [r.series[:, :, k] for r in results])
        if self.paddock.placed:
            places = [positions(self.paddock, r.number) for r in results]
            for name, found in zip(("latitude", "longitude"), zip(*places, strict=True), strict=True):
                self._fill(name, results, found)

    def _fill(self, name: str, results: Sequence[PassResult], values: Sequence[NDArray[Any]]) -> None:
        """Values of passes that follow one another, in one go; where a pass is shorter than others gaps stay."""
        data = self.file[name]
        along = self.passes[name]
        shape = list(data.shape)
        shape[along] = len(results)
        block = np.full(shape, data.fillvalue, dtype=data.dtype)
        for place, value in zip(np.moveaxis(block, along, 0), values, strict=True):
            place[tuple(slice(n) for n in value.shape)] = value
        first = results[0].number
        data[(*[slice(None)] * along, slice(first, first + len(results)))] = block

    def _settings(self, known: dict[str, NDArray[np.float64]]) -> None:
        tried = self.paddock.tried
        table: dict[str, Any] = {
            "oil_pressure": [s.oil_pressure for s in tried],
            "speed": [s.speed for s in tried],
            "downforce": [downforce(self.paddock.unit, s.oil_pressure) for s in tried],
            **{m.stored: known[name] for name, m in by_setting().items()},
        }
        for name, data in layout.of_settings().items():
            made = self.file.create_dataset(name, data=np.asarray(table[name], dtype=np.float64))
            made.attrs["units"], made.attrs["long_name"] = data.unit, data.doc
            made.dims[0].attach_scale(self.file["setting"])

    def _events(self, kind: str, table: NDArray[np.float32]) -> None:
        """A list of events, one dataset for each column, over a dimension of its own."""
        self._scale(kind, np.arange(len(table), dtype=np.int32))
        for k, (name, data) in enumerate(layout.events(kind).items()):
            values = table[:, k].astype(data.kind)
            packed = _PACKED if len(table) else {}
            made = self.file.create_dataset(name, data=values, **packed)
            made.attrs["units"], made.attrs["long_name"] = data.unit, data.doc
            made.dims[0].attach_scale(self.file[kind])


def _some(parts: Parts, count: int) -> Iterator[list[PassResult]]:
    """All passes in their order, some at a time: what HDF5 takes for a call does not hang on how much it writes."""
    held: list[PassResult] = []
    room = AT_ONCE
    for number in range(count):
        held.append(parts.read(number))
        room -= held[-1].nbytes
        if room <= 0 or number == count - 1:
            yield held
            held, room = [], AT_ONCE


def _middles(bins: Histogram) -> NDArray[np.float64]:
    return bins.low + bins.width * (np.arange(bins.bins + 2, dtype=np.float64) - 0.5)


def check_result(path: Path, print_: str) -> None:
    """Raises ScenarioError where a file is no whole result of these inputs."""
    with opened(path, layout.description()) as stored:
        stored.check()
        if stored.mark("@fingerprint") != print_:
            name = stored.mark("inputs@paddock")
            stored.refuse("", f"a result of another paddock or other settings ({name})",
                          "one of this file as it is now", "another --out, or delete it")  # fmt: skip
