"""Files that are either whole or not there: written beside their place under another name, then renamed.

Beside its place, not in a folder for temporary files, since no system renames from one drive to another. A file is on
the disk before it is renamed, so that a disk that fills up late, or a power cut, leaves what was there. On Windows a
file cannot be replaced while another program holds it open: see `replace_file` and `replacing`.
"""

from __future__ import annotations

import errno
import os
import secrets
import stat
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

from analysis.storage.file_names import fitting, led_to, name_fault, too_long, windows_refuses
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


def folder_fault(folder: Path, what: str, name: str) -> str | None:
    """Why a file `name` could not be written in a folder that is there or is made for it, as a fault; None if it could.

    what: how the folder is asked for, e.g. "--figures". Leaves nothing behind.
    """
    given = f"given {shown(str(folder))}"
    if folder.is_dir():
        return output_fault(folder / name, what, (Path(name).suffix,))
    if folder.exists() or folder.is_symlink():
        return fault(what, f"{given}, which is a file", "a folder", "another name")
    if not folder.parent.is_dir():
        return fault(what, f"{given}, but there is no folder {shown(str(folder.parent))}",
                     "a folder, or a new one in a folder that is there", f"mkdir -p {folder.parent}")  # fmt: skip
    return name_fault(folder, what) or _trial_fault(folder, what, given)


def write_all(
    files: Sequence[tuple[Path, Callable[[Path], object]]], *, folder: Path | None = None, keep_existing: bool = False
) -> None:
    """Write files, each by a function that writes to the path it is given: all of them appear, or none.

    folder: made for them where it is not there yet, and taken away again where they fail. keep_existing: as for
    `replacing`. Raises ScenarioError where the disk is full or cannot be written, naming the file.
    """
    with ExitStack() as made:
        if folder is not None and not folder.is_dir():
            with _told(folder):
                folder.mkdir()
            made.callback(_remove_empty, folder)
        with ExitStack() as places:
            for path, write in files:
                places.enter_context(_told(path))
                temporary = places.enter_context(replacing(path, keep_existing=keep_existing))
                write(temporary)
                _flush(temporary)
        made.pop_all()


@contextmanager
def _told(path: Path) -> Iterator[None]:
    """What the system refuses while a file is written, as a ScenarioError that names it."""
    try:
        yield
    except FileExistsError:
        raise
    except OSError as error:
        raise ScenarioError([unwritten(path, error)]) from error


def unwritten(path: Path, error: OSError) -> str:
    """A fault: a file could not be written whole, why, and that nothing was touched."""
    reason = os.strerror(error.errno) if error.errno else str(error)
    return fault(str(path), f"could not be written ({reason}); what was there before is as it was",
                 "a disk with room, in a folder that can be written", "make room, or another folder")  # fmt: skip


@contextmanager
def replacing(path: Path, *, keep_existing: bool = False) -> Iterator[Path]:
    """A temporary file beside `path` to write to; renamed to `path` when the block ends well, else removed.

    The new file has the mode, and where that is allowed the owner, of the one it replaces; a link stays a link, and
    what it leads to is replaced. keep_existing: raise FileExistsError in place of replacing a file that is there.
    Raises ScenarioError where the file that is there cannot be replaced (on Windows: it is open elsewhere); the new
    one then stays beside it.
    """
    place = led_to(path)
    temporary = _beside(place)
    try:
        _make_alike(temporary, place)
        yield temporary
        _flush(temporary)
        if keep_existing:
            _move_without_replacing(temporary, place)
        else:
            _replace_or_keep(temporary, place)
    finally:
        discard(temporary)


def _make_alike(temporary: Path, place: Path) -> None:
    """An empty file to write to, open to no one to whom the file in its place is closed."""
    try:
        there = place.stat()
    except OSError:
        there = None
    mode = 0o666 if there is None else stat.S_IMODE(there.st_mode) & 0o777
    os.close(os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode))
    if there is None or os.name == "nt":
        return
    made = temporary.stat()
    with suppress(OSError):  # only root gives files away
        if hasattr(os, "chown") and (made.st_uid, made.st_gid) != (there.st_uid, there.st_gid):
            os.chown(temporary, there.st_uid, there.st_gid)
    with suppress(OSError):  # disks that keep no modes
        temporary.chmod(mode)


def _flush(path: Path) -> None:
    """Have a file's bytes on the disk. Raises OSError: a disk that is full may tell only now."""
    handle = os.open(path, os.O_RDWR)
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno not in (errno.EINVAL, errno.ENOTSUP):  # some network disks know no such call
            raise
    finally:
        os.close(handle)


def _remove_empty(folder: Path) -> None:
    with suppress(OSError):
        folder.rmdir()


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
