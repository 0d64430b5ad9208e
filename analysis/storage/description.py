"""What a stored result consists of, and the one reader that holds a file against it before anything is computed.

A description names every dataset and attribute of a file with type, dimensions, unit and range; `Stored` finds all that
differs at once, then hands out values that were checked as they were read. Names and texts of the file are data: none
becomes a path.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NamedTuple, NoReturn

import h5py
import numpy as np
from numpy.typing import NDArray

from analysis.storage.trial import try_out
from scenarios.format.errors import ScenarioError, fault, refused, shown

FAR = 1e18  # no number of a result is larger, in any unit
TOLD = 8  # faults told at once
LONG = 50_000_000  # characters of a text in a dataset
LINE = 1000  # characters of a title, a name, a version


class Data(NamedTuple):
    """A dataset of numbers or texts: dimensions by name, unit, meaning, number type ("text": texts), range.

    gaps: NaN stands where nothing is known.
    """

    dims: tuple[str, ...]
    unit: str
    doc: str
    kind: str = "f4"
    low: float = -FAR
    high: float = FAR
    gaps: bool = False


class Mark(NamedTuple):
    """An attribute: number type or "text", range."""

    kind: str
    low: float = -FAR
    high: float = FAR


@dataclass(frozen=True)
class Description:
    """Everything in a file. Names as HDF5 paths; attributes as path@name, those of datasets follow from `data`."""

    format: str
    version: int
    command: str  # that writes it
    again: str  # what to do where a file is not whole
    data: Mapping[str, Data]
    marks: Mapping[str, Mark]
    sizes: Mapping[str, int] = field(default_factory=dict)  # dimensions of one size alone; others are free
    optional: frozenset[str] = frozenset()  # datasets and attributes that may be left out

    @property
    def wanted(self) -> str:
        """What is allowed in the place of a file, in words."""
        return f"a whole file that rowbench {self.command} wrote"


class Stored:
    """A file that is being read: it was tried out, and is of the right kind and version."""

    def __init__(self, path: Path, file: h5py.File, described: Description) -> None:
        self.path, self.file, self.described = path, file, described
        self.sizes: dict[str, int] = dict(described.sizes)

    # --- the whole of it -----------------------------------------------------------------------------------------

    def check(self) -> None:
        """Raises ScenarioError with what differs from the description: lacking, unknown, of another type or shape."""
        with self._library():
            faults = [*self._lacking(), *self._unlike()]
        if faults:
            more = len(faults) - TOLD
            raise ScenarioError(
                [*faults[:TOLD], *([self._fault("", f"{more} more faults", "none", self._again)] if more > 0 else [])]
            )

    def _lacking(self) -> Iterator[str]:
        described, here = self.described, set(_names(self.file))
        marks = {name for name in described.marks if "@" in name}
        known = {*described.data, *marks, *(f"{name}@{mark}" for name in described.data for mark in _OWN)}
        for name in sorted({*described.data, *marks} - here - described.optional):
            yield self._fault(name, "missing", f"all that rowbench {described.command} writes", self._again)
        for name in sorted(here - known):
            if not name.startswith("@version_"):
                yield self._fault(name, "unknown", f"what rowbench {described.command} writes", self._again)

    def _unlike(self) -> Iterator[str]:
        for name, data in self.described.data.items():
            if name in self.file:
                yield from self._unlike_data(name, data, self.file[name])

    def _unlike_data(self, name: str, data: Data, found: Any) -> Iterator[str]:
        if not isinstance(found, h5py.Dataset):
            yield self._fault(name, "a group", f"a dataset of {data.kind}", self._again)
            return
        text = h5py.check_string_dtype(found.dtype) is not None
        kind = "text" if text else found.dtype.newbyteorder("=").str[1:]
        if kind != data.kind:
            yield self._fault(name, f"of type {kind}", data.kind, self._again)
        if len(found.shape) != len(data.dims):
            yield self._fault(name, f"of shape {found.shape}", f"dimensions ({', '.join(data.dims)})", self._again)
            return
        for dim, size in zip(data.dims, found.shape, strict=True):
            if size != self.sizes.setdefault(dim, size):
                yield self._fault(name, f"{size} along {dim}", f"{self.sizes[dim]}", self._again)
        if data.unit:
            unit = found.attrs.get("units")
            if unit != data.unit:
                yield self._fault(name, f"in units {shown(_plain(unit))}", shown(data.unit), self._again)

    # --- values --------------------------------------------------------------------------------------------------

    def has(self, name: str) -> bool:
        """Whether an optional dataset or attribute (path@name) is there."""
        place, at, mark = name.rpartition("@")
        if not at:
            return name in self.file
        return mark in (self.file[place] if place else self.file).attrs

    def numbers(self, name: str) -> NDArray[Any]:
        """All of a dataset in the byte order of this machine. Raises ScenarioError: not finite or out of range."""
        data = self.described.data[name]
        with self._library():
            values = np.asarray(self.file[name][...], dtype=np.dtype(data.kind))
        if values.dtype.kind == "f":
            known = ~np.isnan(values) if data.gaps else np.ones(values.shape, dtype=np.bool_)
            good = np.isfinite(values) & (values >= data.low) & (values <= data.high) | ~known
        else:
            good = (values >= data.low) & (values <= data.high)
        if not good.all():
            place = np.unravel_index(int(np.argmin(good)), good.shape)
            at = ", ".join(str(int(k)) for k in place)
            allowed = f"{_bound(data.low)} to {_bound(data.high)}{' or NaN' if data.gaps else ''}"
            self.refuse(name, f"{values[place]:g} at [{at}]", f"finite numbers, {allowed}")
        return values

    def texts(self, name: str) -> tuple[str, ...]:
        """The texts of a dataset."""
        with self._library():
            found = [bytes(text) for text in self.file[name][...]]
        return tuple(self._line(name, _decoded(text)) for text in found)

    def text(self, name: str) -> str:
        """A long text, of a dataset of its own."""
        with self._library():
            found = _decoded(bytes(self.file[name][()]))
        if found is None:
            self.refuse(name, "bytes that are not UTF-8", "text in UTF-8")
        if len(found) > LONG or any(ord(mark) < 32 and mark not in "\n\r\t" for mark in found):
            self.refuse(name, f"{len(found)} characters or control characters", f"a text of up to {LONG} characters")
        return found

    def json(self, name: str) -> Any:
        """What a text or an attribute (path@name) says in JSON (RFC 8259): no NaN, no infinite numbers."""
        text = self.mark(name) if "@" in name else self.text(name)
        try:
            found = json.loads(text, parse_constant=_no_constant, parse_float=_finite, parse_int=_whole)
        except (ValueError, RecursionError) as error:
            self.refuse(name, f"no JSON of rowbench ({_plain(error)})", "JSON with finite numbers")
        return found

    def mark(self, name: str) -> Any:
        """An attribute by path@name, as float, int or str. Raises ScenarioError: another type, out of range."""
        place, _, key = name.rpartition("@")
        mark = self.described.marks[name] if name in self.described.marks else Mark("text")
        with self._library():
            found = (self.file[place] if place else self.file).attrs[key]
        found = _decoded(found) if isinstance(found, bytes) else found
        if mark.kind == "text":
            return self._line(name, found, LONG if mark.high > LINE else LINE)
        whole = mark.kind.startswith("i")
        fits = isinstance(found, np.integer | int) if whole else isinstance(found, np.floating | float)
        if not fits or isinstance(found, bool) or not mark.low <= found <= mark.high:
            allowed = f"a {'whole ' if whole else ''}number, {_bound(mark.low)} to {_bound(mark.high)}"
            self.refuse(name, f"given {shown(_plain(found))}", allowed)
        return int(found) if whole else float(found)

    def versions(self) -> dict[str, str]:
        """What made the file, by name."""
        with self._library():
            names = [name for name in self.file.attrs if name.startswith("version_")]
        return {name[8:]: self.mark(f"@{name}") for name in sorted(names)}

    def refuse(self, name: str, given: str, allowed: str, hint: str = "") -> NoReturn:
        """Raises ScenarioError about an object of the file."""
        raise ScenarioError([self._fault(name, given, allowed, hint or self._again)])

    # --- with ----------------------------------------------------------------------------------------------------

    @property
    def _again(self) -> str:
        return self.described.again

    def _fault(self, name: str, given: str, allowed: str, hint: str) -> str:
        return fault(f"{self.path}: {name}" if name else str(self.path), given, allowed, hint)

    def _line(self, name: str, text: Any, most: int = LINE) -> str:
        if not isinstance(text, str) or len(text) > most or not _tame(text):
            self.refuse(name, f"given {shown(_plain(text))}", f"a line of text of up to {most} characters")
        return text

    @contextmanager
    def _library(self) -> Iterator[None]:
        """What HDF5 raises on a damaged file, in words."""
        try:
            yield
        except ScenarioError:
            raise
        except (OSError, RuntimeError, KeyError, ValueError, TypeError, OverflowError, MemoryError) as error:
            reason = str(error).strip("'\"").split("(", maxsplit=1)[0].strip() or type(error).__name__
            raise refused(self.path, f"damaged ({_plain(reason)})", self.described.wanted, self._again) from None


@contextmanager
def opened(path: Path, *described: Description) -> Iterator[Stored]:
    """A stored result of one of the kinds described, tried out, checked and open to read.

    Raises ScenarioError: missing, damaged, of another kind or version.
    """
    wanted = described[0].wanted if len(described) == 1 else "a result of rowbench run --save or paddock --out"
    again = described[0].again if len(described) == 1 else "make it again"
    try_out(path, wanted, again)
    try:
        file = h5py.File(path, "r")
    except (OSError, RuntimeError, ValueError) as error:
        raise refused(path, f"damaged or no HDF5 file ({_plain(error)})", wanted, again) from None
    with file:
        yield Stored(path, file, _kind(path, file, described))


def _kind(path: Path, file: h5py.File, described: tuple[Description, ...]) -> Description:
    """Which of the descriptions a file says it follows."""
    kind, number = _decoded(file.attrs.get("format", "")), file.attrs.get("format_version", 0)
    named = {each.format: each for each in described}
    if not isinstance(kind, str) or kind not in named:
        raise refused(path, f"HDF5 of another kind ({shown(_plain(kind))})",
                      f"format {' or '.join(shown(name) for name in named)}",
                      " or ".join(each.wanted for each in described))  # fmt: skip
    found = named[kind]
    if not isinstance(number, np.integer) or number != found.version:
        raise refused(path, f"format version {_plain(number)}", f"version {found.version}",
                      f"the rowbench that wrote it; or {found.again}")  # fmt: skip
    return found


_OWN = ("units", "long_name")  # attributes of datasets beside those of dimension scales
_SCALE_MARKS = ("CLASS", "NAME", "REFERENCE_LIST", "DIMENSION_LIST", "DIMENSION_LABELS", "_Netcdf4Dimid",
                "_Netcdf4Coordinates", "_NCProperties")  # fmt: skip


def _names(file: h5py.File) -> Iterator[str]:
    """Every dataset by its path and every attribute as path@name, those of dimension scales left out."""
    for name, found in (("", file), *file.items()):
        yield from (f"{name}@{key}" for key in found.attrs if key not in _SCALE_MARKS)
        if isinstance(found, h5py.Dataset):
            yield name
        elif name:
            for inner, dataset in found.items():
                yield f"{name}/{inner}"
                yield from (f"{name}/{inner}@{key}" for key in dataset.attrs if key not in _SCALE_MARKS)


def _decoded(text: Any) -> Any:
    """Bytes as a text, None where they are none; anything else as it is."""
    if not isinstance(text, bytes):
        return text
    try:
        return text.decode("utf-8")
    except UnicodeDecodeError:
        return None


def _tame(text: str) -> bool:
    """Whether a text holds no control characters and can be written in UTF-8."""
    return not any(ord(mark) < 32 or 127 <= ord(mark) < 160 or 0xD800 <= ord(mark) < 0xE000 for mark in text)


def tame(text: str) -> str:
    """A text as it can be written: "?" in the place of control characters and of what is no character."""
    return "".join(mark if _tame(mark) or mark in "\n\t" else "?" for mark in text)


def line(text: str) -> str:
    """A title or a name as it is written: one line that no terminal acts on, of a length that is read back."""
    return "".join(mark if _tame(mark) else " " if mark in "\n\r\t" else "?" for mark in text)[:LINE]


def _plain(value: object) -> str:
    """A value of the file for a message: no control characters, not long."""
    text = "".join(mark if mark.isprintable() else "?" for mark in str(value))
    return text if len(text) <= 60 else text[:57] + "..."


def _bound(value: float) -> str:
    return f"{value:.15g}"


def _no_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number")


def _finite(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise ValueError(f"{text[:20]} is too large")
    return value


def _whole(text: str) -> int:
    if len(text) > 20:
        raise ValueError(f"{text[:20]}… is too large")
    return int(text)
