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

STICKY = 0o1000  # of a folder: only its owner renames and removes what is in it


@cache
def cache_folder() -> Path:
    """Folder of the machine code that belongs to this installation, these sources, this compiler and this Python.

    Below `NUMBA_CACHE_DIR` where a user has set that, else below the user's folder for caches. The compiler keeps its
    index there by pickle, and whoever can write that can have code run: a folder that another user made or can write is
    not used, a private one among the temporary files is.
    """
    chosen = os.environ.get("NUMBA_CACHE_DIR")
    name = sources.digest(sources.compiled_sources(), str(sources.ROOT), sys.version, *_compiler())
    folder = (Path(chosen) if chosen else _base() / "rowbench") / name
    return folder if _ours(folder) else _private() / "rowbench" / name


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


def _ours(folder: Path) -> bool:
    """Whether a folder, made if it is not there, is this user's and no other can write it or put another in its place.

    The folder itself is for this user alone; one above it may also be the system's, and others may write it only where
    they cannot rename what is another's (as in a folder for temporary files). Group rights above it are let be: many
    systems give every user a group of one.
    """
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        state = folder.lstat()
        user = os.getuid() if hasattr(os, "getuid") else None
        if user is None:
            return folder.is_dir()  # a system with other rights, whose folders of users are theirs alone
        own = folder.is_dir() and not folder.is_symlink() and state.st_uid == user and not state.st_mode & 0o022
        return own and all(_held(above, user) for above in folder.resolve().parents)
    except OSError:
        return False


def _held(above: Path, user: int) -> bool:
    state = above.stat()
    return state.st_uid in (0, user) and (not state.st_mode & 0o002 or bool(state.st_mode & STICKY))


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
