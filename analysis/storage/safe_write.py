"""Files that are either whole or not there: written beside their place under another name, then renamed.

Beside its place, not in a folder for temporary files, since no system renames from one drive to another. On Windows a
file cannot be replaced while another program holds it open: see `replace_file` and `replacing`.
"""

from __future__ import annotations

import errno
import os
import secrets
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from analysis.storage.file_names import fitting, name_fault, too_long, windows_refuses
from scenarios.format.errors import ScenarioError, fault, shown

WAITS = (0.05, 0.1, 0.2, 0.4, 0.8)  # before each next attempt to replace a file that is held open [s]


def output_fault(path: Path, what: str, endings: tuple[str, ...]) -> str | None:
    """Why a file could not be written there, as a fault in words; None if it could. Leaves nothing behind.

    what: how the file is asked for, e.g. "--figure"; endings: file endings allowed, e.g. (".png",).
    """
    given = f"given {shown(str(path))}"
    if path.suffix.lower() not in endings:
        return fault(what, given, f"a file ending in {' or '.join(endings)}", f'"{path.stem or "result"}{endings[0]}"')
    misnamed = name_fault(path, what)
    if misnamed is not None:
        return misnamed
    if path.is_dir():
        return fault(what, f"{given}, which is a folder", "a file", f'"{path / "result"}{endings[0]}"')
    if not path.parent.is_dir():
        make = "mkdir" if os.name == "nt" else "mkdir -p"
        return fault(what, f"{given}, but there is no folder {shown(str(path.parent))}", "a folder that is there",
                     f"{make} {path.parent}")  # fmt: skip
    return _trial_fault(path, what, given)


def _trial_fault(path: Path, what: str, given: str) -> str | None:
    """What a file made for trial in the folder comes upon, and whether the file that is there can be replaced."""
    folder = path.parent
    try:
        with _beside(path).open("xb") as stream:
            trial = Path(stream.name)
        trial.unlink()
    except OSError as error:
        reason = error.strerror or str(error)
        if error.errno == errno.EINVAL and windows_refuses(path.name):  # a stick formatted for Windows
            return fault(what, f"{given}, which {shown(str(folder))} cannot keep ({windows_refuses(path.name)})",
                         "another name", f'"{path.with_name(fitting(path.name))}"')  # fmt: skip
        return fault(what, f"{given}, but nothing can be written in {shown(str(folder))} ({reason}{too_long(path)})",
                     "a folder that can be written", "another folder, or its owner")  # fmt: skip
    try:
        if path.exists():
            os.rename(path, path)  # changes nothing; Windows refuses it while the file is open elsewhere
    except PermissionError as error:
        return fault(what, f"{given}, which is held open by another program ({error.strerror or error})",
                     "a file that nothing else holds open", "close it there, or another name")  # fmt: skip
    return None


@contextmanager
def replacing(path: Path, *, keep_existing: bool = False) -> Iterator[Path]:
    """A temporary file beside `path` to write to; renamed to `path` when the block ends well, else removed.

    keep_existing: raise FileExistsError in place of replacing a file that is there. Raises ScenarioError where the
    file that is there cannot be replaced (on Windows: it is open elsewhere); the new one then stays beside it.
    """
    temporary = _beside(path)
    try:
        yield temporary
        if keep_existing:
            _move_without_replacing(temporary, path)
        else:
            _replace_or_keep(temporary, path)
    finally:
        discard(temporary)


def replace_file(source: Path, target: Path) -> None:
    """Rename `source` to `target`, also over a file that is there; both on one drive.

    On Windows this fails while another program holds either open, if only a virus scanner for a moment: tried again
    for some 1.5 s. Raises PermissionError after that, other errors of the system at once.
    """
    for wait in WAITS:
        try:
            os.replace(source, target)
            return
        except PermissionError:
            time.sleep(wait)
    os.replace(source, target)


def discard(path: Path) -> None:
    """Remove a file that is of no use; one that cannot be removed stays, and hides no error that led here."""
    with suppress(OSError):
        path.unlink(missing_ok=True)


def _replace_or_keep(temporary: Path, path: Path) -> None:
    """As `replace_file`; what took long to make is kept under a free name where `path` cannot be replaced."""
    try:
        replace_file(temporary, path)
    except PermissionError as error:
        kept = path.with_name(f"{path.stem}_{secrets.token_hex(2)}{path.suffix}")
        os.rename(temporary, kept)
        raise ScenarioError(
            [fault(str(path), f"cannot be replaced ({error.strerror or error}): another program may hold it open",
                   "a file that nothing else holds open",
                   f"close it there; the new one is kept as {kept}")]
        ) from None  # fmt: skip


def _move_without_replacing(source: Path, target: Path) -> None:
    try:
        os.link(source, target)
    except FileExistsError:
        raise
    except OSError:  # file systems without hard links
        if target.exists():
            raise FileExistsError(str(target)) from None
        replace_file(source, target)


def _beside(path: Path) -> Path:
    """A name in the same folder that nobody else uses; the ending stays, since writers choose a format by it."""
    return path.with_name(f".{path.stem[:40]}-{secrets.token_hex(4)}{path.suffix}")
