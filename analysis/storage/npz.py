"""Arrays out of the bytes of an .npz (ZIP of NumPy's .npy) that nobody has to be trusted for."""

from __future__ import annotations

import io
import math
import zipfile
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray


def read_arrays(data: bytes) -> dict[str, NDArray[Any]]:
    """The arrays of an .npz as `np.savez` writes it: nothing packed, so that none can be larger than the file.

    Raises ValueError, and what zipfile raises (BadZipFile, NotImplementedError, RuntimeError …) where it is none.
    """
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        for member in packed.infolist():
            if member.compress_type != zipfile.ZIP_STORED or member.file_size > len(data):
                raise ValueError(f"{member.filename[:80]!r} is packed")
        return {member.filename.removesuffix(".npy"): _array(packed.read(member)) for member in packed.infolist()}


def _array(data: bytes) -> NDArray[Any]:
    """An array whose header says no more than its bytes hold (NumPy Enhancement Proposal 1)."""
    begin = 10 + int.from_bytes(data[8:10], "little")
    shape, column_first, dtype = _header(data[:begin])
    size = math.prod(shape) * dtype.itemsize
    if column_first or dtype.hasobject or size != len(data) - begin:
        raise ValueError(f"an array of shape {shape} in {len(data)} bytes")
    return np.frombuffer(data, dtype=dtype, offset=begin).reshape(shape).copy()


@lru_cache(maxsize=256)  # files of many passes say the same, and it is read by the compiler of Python
def _header(data: bytes) -> tuple[tuple[int, ...], bool, np.dtype[Any]]:
    """Shape, whether columns come first, and type, from the bytes before an array."""
    stream = io.BytesIO(data)
    version = np.lib.format.read_magic(stream)
    if version != (1, 0):
        raise ValueError("an array of another version")
    return np.lib.format.read_array_header_1_0(stream)
