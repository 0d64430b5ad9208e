"""Machine code on disk that is whole or is not used.

The compiler's own cache takes a file as it finds it: a damaged one ends every try in a traceback or worse, a full disk
ends the run, and two first compilations at once may give two signatures one file. Here every file begins with a
checksum (SHA-256), every entry has a name of its own, and whatever cannot be read or written is noted once, with the
folder, and compiled again.
"""

from __future__ import annotations

import hashlib
import logging
import os
import pickle
import uuid
from functools import cache
from pathlib import Path
from typing import Any

from numba.core.caching import IndexDataCacheFile

_DIGEST = hashlib.sha256().digest_size
_NOTES = logging.getLogger("rowbench")


class Damaged(Exception):
    """A file of the cache is not what was written."""


@cache
def note(folder: str, given: str, hint: str) -> None:
    """Say once what is wrong with a folder."""
    _NOTES.warning("%s: %s; allowed: a folder for machine code that only you can write; try: %s", folder, given, hint)


class Files(IndexDataCacheFile):
    """An index by signature and a file for each, all sealed."""

    _index_path: Any
    _source_stamp: Any
    _version: Any

    def save(self, key: Any, data: Any) -> None:
        """Keep machine code under a name of its own; the index follows, so that it names whole files only."""
        there = self._load_index()
        name = there.get(key) or self._data_name_pattern.format(number=uuid.uuid4().int % 10**12)
        self._save_data(name, data)
        there[key] = name
        self._save_index(there)

    def _save_index(self, overloads: Any) -> None:
        self._put(self._index_path, (self._version, self._source_stamp, overloads))

    def _load_index(self) -> dict[Any, Any]:
        """Names by signature; empty where there are none, or none of these sources and this compiler."""
        try:
            version, stamp, found = self._get(self._index_path)
        except FileNotFoundError:
            return {}
        except Exception as error:
            self.damaged(error)
            return {}
        return dict(found) if (version, stamp) == (self._version, self._source_stamp) else {}

    def _save_data(self, name: str, data: Any) -> None:
        self._put(self._data_path(name), data)

    def _load_data(self, name: str) -> Any:
        return self._get(self._data_path(name))

    def _put(self, path: str, thing: Any) -> None:
        data = self._dump(thing)
        with self._open_for_write(path) as stream:
            stream.write(hashlib.sha256(data).digest() + data)

    @staticmethod
    def _get(path: str) -> Any:
        data = Path(path).read_bytes()
        if hashlib.sha256(data[_DIGEST:]).digest() != data[:_DIGEST]:
            raise Damaged(f"{Path(path).name} is not what was written")
        return pickle.loads(data[_DIGEST:])

    def damaged(self, error: Exception) -> None:
        """Say that what was read is not whole."""
        note(self.folder(), f"holds damaged machine code ({error}), which is made again",
             "nothing; where it happens again, delete the folder and have the disk checked")  # fmt: skip

    def unkept(self, error: OSError) -> None:
        """Say that nothing can be written there."""
        reason = os.strerror(error.errno) if error.errno else str(error)
        note(self.folder(), f"machine code cannot be kept there ({reason}), so that every start compiles again",
             "make room, or set NUMBA_CACHE_DIR to a folder of yours that can be written")  # fmt: skip

    def folder(self) -> str:
        """The folder of all machine code."""
        return str(Path(self._index_path).parents[1])
