"""Where compiled kernels are kept between runs.

A kernel's cache entry is keyed by its own source file only, but kernels here inline functions of their neighbours.
One folder for each state of all sources that machine code can depend on (`sources.compiled_sources`) therefore keeps
old machine code from outliving a change, and it also serves an installation whose own folder cannot be written. The
folder is handed to the compiler as each kernel is made (`compiled.kernel`), so that it holds whichever module of
whichever package is imported first, and a user's own compiled functions stay where the user keeps them.
"""

from __future__ import annotations

import os
import sys
import tempfile
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from sim.arithmetic import sources


@cache
def cache_folder() -> Path:
    """Folder of the machine code that belongs to this installation, these sources, this compiler and this Python.

    Below `NUMBA_CACHE_DIR` where a user has set that, else below the user's folder for caches.
    """
    chosen = os.environ.get("NUMBA_CACHE_DIR")
    base = Path(chosen) if chosen else _base() / "rowbench"
    return base / sources.digest(sources.compiled_sources(), str(sources.ROOT), sys.version, *_compiler())


def _compiler() -> tuple[str, ...]:
    """Versions of what makes the machine code, without importing it."""
    try:
        return version("numba"), version("llvmlite")
    except PackageNotFoundError:
        return ()


def _base() -> Path:
    """Per-user folder for caches; where that cannot be written, a private one among the temporary files."""
    named = os.environ.get("LOCALAPPDATA" if sys.platform == "win32" else "XDG_CACHE_HOME")
    try:
        base = Path(named) if named else Path.home() / ".cache"
        base.mkdir(parents=True, exist_ok=True)
        if os.access(base, os.W_OK):
            return base
    except (OSError, RuntimeError):  # RuntimeError: no home at all
        pass
    return _private()


def _private() -> Path:
    """A folder among the temporary files that only this user can write; one that another made first is not used."""
    user = getattr(os, "getuid", lambda: 0)()
    folder = Path(tempfile.gettempdir()) / f"cache-{user}"
    try:
        folder.mkdir(mode=0o700, exist_ok=True)
        state = folder.lstat()
        own = not hasattr(os, "getuid") or (state.st_uid == user and not state.st_mode & 0o022)
        if own and folder.is_dir() and not folder.is_symlink() and os.access(folder, os.W_OK):
            return folder
    except OSError:
        pass
    return Path(tempfile.mkdtemp(prefix="cache-"))
