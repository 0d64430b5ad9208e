"""What an HDF5 file may be built of before rowbench reads it, and a first reading of all of it, run in a process apart.

A crafted file can crash the HDF5 library itself, hang it, or have it ask for all memory; nothing inside a process keeps
that away. `trial` therefore runs this file as a script, with limits on time and memory, and the program opens the file
only when that process has walked through it, read it once and ended well. Nothing but the standard library, numpy and
h5py is imported here, so that the process starts in some 0.15 s.

Allowed: groups one level deep, hard links only, datasets of numbers or texts stored in the file itself (no external,
virtual or compressed-by-plug-in ones, no references, compounds or own types), every chunk that is declared present.
Attributes: numbers and texts; those of dimension scales (they hold references) are never read.
"""

from __future__ import annotations

import json
import math
import re
import sys
from collections.abc import Iterator
from typing import Any, NamedTuple

import h5py
import numpy as np

MOST_OBJECTS = 400  # in one group
MOST_UNPACKED = 32_000_000_000  # bytes of all datasets as declared
SPARE_UNPACKED = 200_000_000  # bytes that any file may declare; beyond it, this many times its own size:
MOST_PACKED = 200  # deflate alone could declare 1032 times
MOST_CHUNK = 2_000_000_000  # [bytes]
MOST_TEXT = 64_000_000  # characters of one text
MOST_TEXTS = 1000  # in one dataset
MOST_LINE = 4000  # characters of a text in an attribute
MOST_MEMORY = 6_000_000_000  # of the process apart [bytes of addresses]
BLOCK = 8_000_000  # values read at a time

SCALE_MARKS = ("CLASS", "NAME", "REFERENCE_LIST", "DIMENSION_LIST", "DIMENSION_LABELS", "_Netcdf4Dimid",
               "_Netcdf4Coordinates", "_NCProperties")  # fmt: skip
FILTERS = {1, 2, 3}  # deflate, shuffle, fletcher32
_NAME = re.compile(r"[A-Za-z0-9_]{1,80}")


class Unsound(NamedTuple):
    """Why a file is not read: the object, what it is, what is allowed."""

    name: str
    given: str
    allowed: str


class _Refused(Exception):
    def __init__(self, name: str, given: str, allowed: str) -> None:
        super().__init__(name)
        self.why = Unsound(_plain(name), _plain(given), allowed)


def unsound(path: str) -> Unsound | None:
    """What is wrong with the structure of a file; None where it may be read. Reads all of it once."""
    try:
        with h5py.File(path, "r") as file:
            _Walk(file).all()
    except _Refused as refused:
        return refused.why
    except Exception as error:  # whatever the library raises on a file that is crafted or broken
        reason = str(error).strip("'\"").split("(", maxsplit=1)[0].strip() or type(error).__name__
        return Unsound("", f"damaged or no HDF5 file ({_plain(reason)})", "")
    return None


class _Walk:
    """One walk through a file."""

    def __init__(self, file: h5py.File) -> None:
        self.file, self.unpacked = file, 0
        self.most = min(SPARE_UNPACKED + MOST_PACKED * file.id.get_filesize(), MOST_UNPACKED)

    def all(self) -> None:
        self._attributes("", self.file.attrs)
        for name, found in self._members("", self.file):
            if isinstance(found, h5py.Group):
                self._attributes(name, found.attrs)
                for inner, dataset in self._members(f"{name}/", found):
                    self._dataset(inner, dataset)
            else:
                self._dataset(name, found)

    def _members(self, prefix: str, group: h5py.Group) -> Iterator[tuple[str, Any]]:
        if len(group) > MOST_OBJECTS:
            raise _Refused(prefix, f"{len(group)} objects in one group", f"up to {MOST_OBJECTS}")
        for name in group:
            whole = f"{prefix}{name}"
            if not _NAME.fullmatch(name):
                raise _Refused(whole, "a name of other characters", "letters, digits and _")
            if not isinstance(group.get(name, getlink=True), h5py.HardLink):
                raise _Refused(whole, "a link to elsewhere", "data in the file itself")
            yield whole, group[name]

    def _dataset(self, name: str, dataset: Any) -> None:
        if not isinstance(dataset, h5py.Dataset):
            raise _Refused(name, "a group or a type of its own", "a dataset of numbers or texts")
        if dataset.is_virtual or dataset.external:
            raise _Refused(name, "data that lie in another file", "data in the file itself")
        if dataset.shape is None or dataset.ndim > 5:
            raise _Refused(name, f"of shape {dataset.shape}", "a dataset of up to five dimensions")
        self._attributes(name, dataset.attrs)
        text = h5py.check_string_dtype(dataset.dtype)
        if text is None and not _number(dataset.dtype):
            raise _Refused(name, f"of type {dataset.dtype}", "numbers of up to 8 bytes, or texts")
        listed = dataset.id.get_create_plist()
        strange = {listed.get_filter(k)[0] for k in range(listed.get_nfilters())} - FILTERS
        if strange:
            raise _Refused(name, f"packed by filter {min(strange)}", "deflate, shuffle and fletcher32")
        if text is not None:
            self._texts(name, dataset)
        else:
            self._numbers(name, dataset)

    def _texts(self, name: str, dataset: Any) -> None:
        if dataset.size > MOST_TEXTS or dataset.dtype.itemsize > MOST_TEXT:
            raise _Refused(name, f"{dataset.size} texts", f"up to {MOST_TEXTS}")
        for text in np.atleast_1d(dataset[()]):
            if len(text) > MOST_TEXT:
                raise _Refused(name, f"a text of {len(text)} characters", f"up to {MOST_TEXT}")

    def _numbers(self, name: str, dataset: Any) -> None:
        size = math.prod(dataset.shape) * dataset.dtype.itemsize
        self.unpacked += size
        if self.unpacked > self.most:
            raise _Refused(name, f"declares {_bytes(self.unpacked)} with what comes before it",
                           f"up to {_bytes(self.most)} in a file of this size")  # fmt: skip
        if dataset.chunks is None:
            if dataset.size and dataset.id.get_storage_size() != size:
                raise _Refused(name, f"declares {size} bytes, holds {dataset.id.get_storage_size()}", "as many")
        else:
            declared = math.prod(-(-n // c) for n, c in zip(dataset.shape, dataset.chunks, strict=True))
            held = dataset.id.get_num_chunks()
            if held != declared:
                raise _Refused(name, f"declares {declared} pieces, holds {held}", "as many")
            if math.prod(dataset.chunks) * dataset.dtype.itemsize > MOST_CHUNK:
                raise _Refused(name, f"pieces of shape {dataset.chunks}", f"pieces of up to {_bytes(MOST_CHUNK)}")
        for part in _parts(dataset):
            dataset[part]

    def _attributes(self, name: str, attributes: Any) -> None:
        if len(attributes) > MOST_OBJECTS:
            raise _Refused(name, f"{len(attributes)} attributes", f"up to {MOST_OBJECTS}")
        for key in attributes:
            if key in SCALE_MARKS:
                continue
            where = f"{name}@{key}"
            if not _NAME.fullmatch(key):
                raise _Refused(where, "a name of other characters", "letters, digits and _")
            found = attributes.get_id(key)
            text = h5py.check_string_dtype(found.dtype) is not None
            if found.shape != () or not (text or _number(found.dtype)) or found.dtype.itemsize > MOST_LINE:
                raise _Refused(where, f"of type {found.dtype} and shape {found.shape}", "one number or one text")
            if text and len(attributes[key]) > MOST_LINE:
                raise _Refused(where, "a longer text", f"up to {MOST_LINE} characters")


def _number(dtype: np.dtype[Any]) -> bool:
    plain = dtype.kind in "fiu" and dtype.itemsize <= 8 and dtype.names is None and dtype.shape == ()
    return plain and h5py.check_enum_dtype(dtype) is None


def _parts(dataset: Any) -> Iterator[Any]:
    """Selections that make up all of a dataset, none of them large where it is in pieces or long."""
    if dataset.size == 0 or dataset.ndim == 0:
        yield ()
    elif dataset.chunks is not None:
        yield from dataset.iter_chunks()
    else:
        rows = max(BLOCK // max(math.prod(dataset.shape[1:]), 1), 1)
        for begin in range(0, dataset.shape[0], rows):
            yield slice(begin, begin + rows)


def _bytes(size: int) -> str:
    return f"{size / 1e9:.3g} GB" if size >= 1e8 else f"{size / 1e6:.3g} MB"


def _plain(text: str) -> str:
    """A text of the file for a message: no control characters, not long."""
    shown = "".join(mark if mark.isprintable() else "?" for mark in text.replace("\n", " "))
    return shown if len(shown) <= 90 else shown[:87] + "..."


def _limit_memory() -> None:
    """Where the system can: no more memory than any good file needs, and no core file when it crashes."""
    try:
        import resource  # noqa: PLC0415
    except ImportError:
        return
    for kind, most in ((resource.RLIMIT_AS, MOST_MEMORY), (resource.RLIMIT_CORE, 0)):
        try:
            _, hard = resource.getrlimit(kind)
            resource.setrlimit(kind, (most if hard == resource.RLIM_INFINITY else min(most, hard), hard))
        except (OSError, ValueError):  # some systems have the limit and do not take it
            continue


if __name__ == "__main__":
    _limit_memory()
    sys.stdout.buffer.write(json.dumps(unsound(sys.argv[1])).encode("ascii"))
