"""Where compiled kernels are kept between runs.

A kernel's cache entry is keyed by its own source file only, but kernels here inline functions of their neighbours.
One cache folder for each state of all sources that are compiled therefore keeps old machine code from outliving a
change, and it also serves an installation whose folder cannot be written.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from pathlib import Path


def _base() -> Path:
    """Per-user folder for caches; the temporary folder where the user has no writable home."""
    chosen = os.environ.get("XDG_CACHE_HOME")
    base = Path(chosen) if chosen else Path.home() / ".cache"
    try:
        base.mkdir(parents=True, exist_ok=True)
        if os.access(base, os.W_OK):
            return base
    except OSError:
        pass
    return Path(tempfile.gettempdir()) / f"cache-{os.getuid() if hasattr(os, 'getuid') else 'user'}"


def _compiled_sources() -> list[Path]:
    """This room, and the files of the installation's other rooms that hold compiled code."""
    room = Path(__file__).parents[1]
    marks = (b"from sim.arithmetic", b"from numba")
    beside = sorted(room.parent.glob("analysis/**/*.py"))
    return [*sorted(room.rglob("*.py")), *(file for file in beside if any(mark in file.read_bytes() for mark in marks))]


def choose_cache_folder() -> None:
    """Point numba's cache to a folder named after the sources; a user's own NUMBA_CACHE_DIR stays."""
    if "NUMBA_CACHE_DIR" in os.environ:
        return
    digest = hashlib.sha256()
    for source in _compiled_sources():
        digest.update(source.name.encode())
        digest.update(source.read_bytes())
    os.environ["NUMBA_CACHE_DIR"] = str(_base() / "rowbench" / digest.hexdigest()[:16])
