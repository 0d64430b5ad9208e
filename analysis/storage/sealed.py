"""A checksum over a whole stored file, at its end: one flipped bit anywhere, or a byte too few, is seen before a
reader of the format looks at the file.

The last line of a sealed file is `rowbench sha256` and the SHA-256 (FIPS 180-4, Python's hashlib) of every byte before
it. HDF5 and ZIP know where their own contents end, so other programs open such a file as it is. The seal keeps damage
out, not forgers: whoever writes a file can seal it, so what it holds is checked as well (`structure`, `description`).
"""

from __future__ import annotations

import hashlib
from pathlib import Path

_HEAD, _TAIL = b"\nrowbench sha256 ", b"\n"
LENGTH = len(_HEAD) + 64 + len(_TAIL)  # of the seal [bytes]

NO_SEAL = "no checksum of rowbench at its end: damaged or cut off, or of another program or an earlier version"
WRONG_SEAL = "damaged, or changed by another program: the checksum at its end is not that of its bytes"


class BrokenSeal(ValueError):
    """Bytes that are not those that were sealed; the text says what was found."""


def sealed(data: bytes) -> bytes:
    """Bytes with their seal behind them."""
    return data + _line(hashlib.sha256(data).hexdigest())


def unsealed(data: bytes) -> bytes:
    """The bytes before the seal. Raises BrokenSeal where there is none, or it is not theirs."""
    inside, line = data[:-LENGTH], data[-LENGTH:]
    _compare(line, hashlib.sha256(inside).hexdigest())
    return inside


def seal(path: Path) -> None:
    """Put the seal behind a file that was written and closed."""
    with path.open("r+b") as stream:
        digest = hashlib.file_digest(stream, "sha256").hexdigest()
        stream.seek(0, 2)
        stream.write(_line(digest))


def check_seal(path: Path) -> str:
    """The digest of a sealed file's contents. Raises BrokenSeal, and OSError where it cannot be read."""
    digest = hashlib.sha256()
    with path.open("rb") as stream:
        left = max(path.stat().st_size - LENGTH, 0)
        while left and (block := stream.read(min(left, 1 << 20))):
            digest.update(block)
            left -= len(block)
        _compare(stream.read(LENGTH), digest.hexdigest())
    return digest.hexdigest()


def _line(digest: str) -> bytes:
    return _HEAD + digest.encode("ascii") + _TAIL


def _compare(line: bytes, digest: str) -> None:
    if not (len(line) == LENGTH and line.startswith(_HEAD) and line.endswith(_TAIL)):
        raise BrokenSeal(NO_SEAL)
    if line != _line(digest):
        raise BrokenSeal(WRONG_SEAL)
