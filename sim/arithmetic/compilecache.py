"""Where compiled kernels are kept between runs.

A kernel's cache entry is keyed by its own source file only, but kernels here inline functions of their neighbours.
One folder for each state of all sources that machine code can depend on (`sources.compiled_sources`) therefore keeps
old machine code from outliving a change, and it also serves an installation whose own folder cannot be written. The
folder is handed to the compiler as each kernel is made (`compiled.kernel`), so that it holds whichever module of
whichever package is imported first, and a user's own compiled functions stay where the user keeps them.

Machine code is read from nowhere that another user could have written it: the folder is made for this user alone, and
one that is another's, a link, or open to others is passed over and named. Where there is no other, nothing is kept.
"""

from __future__ import annotations

import logging
import os
import stat
import sys
import tempfile
from collections.abc import Iterator
from contextlib import suppress
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from sim.arithmetic import sources

_NOTES = logging.getLogger("rowbench")


@cache
def cache_folder() -> Path:
    """Folder of the machine code that belongs to this installation, these sources, this compiler and this Python.

    Below `NUMBA_CACHE_DIR` where a user has set that, else below the user's folder for caches, else below a private one
    among the temporary files. Where none of them can be written by this user and by no other, that is noted, and the
    path is one where nothing can be.
    """
    name = sources.digest(sources.compiled_sources(), str(sources.ROOT), sys.version, *_compiler())
    refused = []
    for base in _bases():
        wrong = _not_ours(base, name)
        if wrong is None:
            return base / name
        refused.append(wrong)
    _NOTES.warning(
        "machine code cannot be kept (%s), so that every start compiles again; allowed: a folder that only you can "
        "write; try: NUMBA_CACHE_DIR set to one", "; ".join(refused),
    )  # fmt: skip
    return Path(os.devnull) / name


def _compiler() -> tuple[str, ...]:
    """Versions of what makes the machine code, without importing it."""
    try:
        return version("numba"), version("llvmlite")
    except PackageNotFoundError:
        return ()


def _bases() -> Iterator[Path]:
    """Folders of rowbench's own to keep machine code in, the best first."""
    chosen = os.environ.get("NUMBA_CACHE_DIR")
    if chosen:
        yield Path(chosen)
    named = os.environ.get("LOCALAPPDATA" if sys.platform == "win32" else "XDG_CACHE_HOME")
    with suppress(RuntimeError):  # no home at all
        yield (Path(named) if named else Path.home() / ".cache") / "rowbench"
    yield Path(tempfile.gettempdir()) / f"rowbench-{getattr(os, 'getuid', lambda: 0)()}"


def _not_ours(base: Path, name: str) -> str | None:
    """Why the folder `name` in `base` cannot be trusted or written, in words; None if it can. Makes both."""
    folder = base / name
    try:
        base.parent.mkdir(parents=True, exist_ok=True)
        base.mkdir(mode=0o700, exist_ok=True)
        folder.mkdir(mode=0o700, exist_ok=True)
        wrong = open_to_others(folder) or _open_above(folder)
        if wrong is None:
            tempfile.TemporaryFile("w", encoding="utf-8", dir=folder).close()
    except OSError as error:
        return f"{base}: {error.strerror or error}"
    return wrong


def _open_above(folder: Path) -> str | None:
    """Why somebody else could put another folder in the place of this one, in words; None if nobody could.

    What lies above it may also be the system's, and others may write it only where they cannot rename what is another's
    (as in a folder for temporary files). Group rights above it are let be: many systems give every user a group of one.
    """
    user = getattr(os, "getuid", None)
    if user is None:
        return None  # a system with other rights, whose folders of users are theirs alone
    for above in folder.resolve().parents:
        state = above.stat()
        if state.st_uid not in (user(), 0):
            return f"{above} belongs to another user"
        if state.st_mode & stat.S_IWOTH and not state.st_mode & stat.S_ISVTX:
            return f"{above} can be written by everybody"
    return None


def open_to_others(folder: Path) -> str | None:
    """Who else than this user can write what lies in a folder, in words; None where nobody can."""
    state = folder.lstat()
    if not stat.S_ISDIR(state.st_mode):
        return f"{folder} is a link or a file"
    user = getattr(os, "getuid", None)
    if user is None:
        return None
    if state.st_uid != user():
        return f"{folder} belongs to another user"
    return f"{folder} can be written by others" if state.st_mode & 0o022 else None
