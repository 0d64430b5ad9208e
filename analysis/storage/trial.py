"""Whether a file may be opened as a stored result: a regular file, sealed, and read through once in a process apart.

In this order, so that each step only meets what the one before lets through: the file's kind and size, the signature
and the size that HDF5 gives itself, the checksum over all bytes (`sealed`), then the structure (`structure`) in a
process of its own. A crash of the HDF5 library, a hang or a hunger for memory ends that process and not the program.
The process costs some 0.15 to 0.3 s; a file whose bytes were found sound is not tried again by the same program.
"""

from __future__ import annotations

import json
import os
import stat
import struct
import subprocess
import sys
from pathlib import Path

from analysis.storage import structure
from analysis.storage.sealed import LENGTH, BrokenSeal, check_seal
from analysis.storage.structure import Unsound
from scenarios.format.errors import ScenarioError, fault, refused

SIGNATURE = b"\x89HDF\r\n\x1a\n"
PATIENCE = 8.0  # that the process apart is given to start and read a small file [s]
SLOWEST = 20e6  # bytes that it reads in a second at least
_sound: set[str] = set()  # digests of the files that were tried


def try_out(path: Path, wanted: str, again: str) -> None:
    """Raises ScenarioError where a file is not to be opened.

    wanted: what is allowed there; again: what to do where it is damaged; in words.
    """
    try:
        digest = _sealed_digest(path)
    except FileNotFoundError:
        raise refused(path, "there is no such file", wanted, "check the path") from None
    except BrokenSeal as broken:
        raise refused(path, str(broken), wanted, again) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise refused(path, f"damaged or no HDF5 file ({reason})", wanted, again) from None
    if digest in _sound:
        return
    found = _apart(path)
    if found is not None:
        where = f"{path}: {found.name}" if found.name else str(path)
        raise ScenarioError([fault(where, found.given, found.allowed or wanted, again)])
    _sound.add(digest)


def _sealed_digest(path: Path) -> str:
    """Raises OSError, ValueError (BrokenSeal) with what is found wrong."""
    state = path.stat()
    if stat.S_ISDIR(state.st_mode):
        raise ValueError("a folder")
    if not stat.S_ISREG(state.st_mode):
        raise ValueError("a device or a pipe")
    with path.open("rb") as stream:
        head = stream.read(96)
    if not head.startswith(SIGNATURE):
        raise ValueError("no HDF5 signature")
    end = _end_of_file(head)
    if end > state.st_size:
        raise ValueError(f"cut off: {state.st_size} of {end} bytes")
    digest = check_seal(path)
    if end != state.st_size - LENGTH:
        raise ValueError(f"HDF5 ends at byte {end}, its checksum begins at {state.st_size - LENGTH}")
    return digest


def _end_of_file(head: bytes) -> int:
    """Where a superblock says that the file ends (HDF5 File Format Specification 3.0, II.A; from memory).

    Raises ValueError for one that rowbench does not write.
    """
    version = head[8] if len(head) > 8 else 255
    at = {0: 40, 1: 44, 2: 28, 3: 28}.get(version)
    size = head[13] if version in (0, 1) else head[9] if at else 0
    if at is None or size != 8 or len(head) < at + 8 or struct.unpack_from("<Q", head, at - 16)[0] != 0:
        raise ValueError("a superblock of another version")
    return int(struct.unpack_from("<Q", head, at)[0])


def _apart(path: Path) -> Unsound | None:
    """`structure.unsound` in a process of its own; here, where none can be started."""
    if not sys.executable or getattr(sys, "frozen", False):
        return structure.unsound(str(path))
    patience = PATIENCE + path.stat().st_size / SLOWEST
    # -P: no module from a folder of the user's takes the place of the library's
    words = [sys.executable, "-P", str(Path(structure.__file__)), str(path.absolute())]
    one_thread = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", "MKL_NUM_THREADS": "1"}
    try:
        done = subprocess.run(
            words, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, timeout=patience,
            env={**os.environ, **one_thread}, check=False,
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        return Unsound("", f"HDF5 was not done reading it after {patience:.0f} s", "")
    except OSError:  # no room for another process
        return structure.unsound(str(path))
    if done.returncode == 1:  # Python ended before it looked at the file: the library is not found from there
        return structure.unsound(str(path))
    if done.returncode != 0:
        return Unsound("", f"HDF5 crashes on it (code {done.returncode})", "")
    found: list[str] | None = json.loads(done.stdout)
    return None if found is None else Unsound(*found)
