"""HDF5 files that a full disk cannot bring down.

The HDF5 library does not survive a write that fails: closing the file ends in a segmentation fault. It is therefore
handed a file object that takes every byte, also those that no longer fit, and keeps the first failure; that is raised
when the library has closed the file in peace.
"""

from __future__ import annotations

import io
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import h5py


@contextmanager
def new_hdf5(path: Path) -> Iterator[h5py.File]:
    """A new HDF5 file at `path` (over one that is there). Raises the OSError of the first write that failed.

    The caller names a temporary file and removes it where this fails.
    """
    with open(path, "w+b", buffering=0, opener=_opened) as raw:
        stream = _Patient(raw)
        try:
            with h5py.File(stream, "w", libver=("earliest", "v110")) as file:
                yield file
        finally:
            if stream.failed is not None:
                raise stream.failed


def _opened(path: str, flags: int) -> int:
    """A file, but not one that a link leads to."""
    return os.open(path, flags | getattr(os, "O_NOFOLLOW", 0), 0o666)


class _Patient(io.RawIOBase):
    """A file that notes the first failure of a write and goes on as if there had been none."""

    def __init__(self, raw: Any) -> None:
        self._raw, self.failed = raw, None  # type: Any, OSError | None

    def readable(self) -> bool:
        """It is."""
        return True

    def writable(self) -> bool:
        """It is."""
        return True

    def seekable(self) -> bool:
        """It is."""
        return True

    def seek(self, offset: int, whence: int = 0) -> int:
        """As of any file."""
        return int(self._raw.seek(offset, whence))

    def tell(self) -> int:
        """As of any file."""
        return int(self._raw.tell())

    def readinto(self, buffer: Any) -> int:
        """As of any file; what could not be written reads as zeros."""
        try:
            found = int(self._raw.readinto(buffer) or 0)
        except OSError as error:
            self.failed, found = self.failed or error, 0
        if self.failed is not None and found < len(buffer):
            buffer[found:] = bytes(len(buffer) - found)
            return len(buffer)
        return found

    def write(self, data: Any) -> int:
        """Write all of it, also where the disk takes it in pieces."""
        left = memoryview(data)
        size = left.nbytes
        try:
            while self.failed is None and left.nbytes:
                left = left[self._raw.write(left) :]
        except OSError as error:
            self.failed = error
        return size

    def truncate(self, size: int | None = None) -> int:
        """As of any file."""
        try:
            return int(self._raw.truncate(size))
        except OSError as error:
            self.failed = self.failed or error
            return size or 0

    def flush(self) -> None:
        """Nothing is held back here."""
