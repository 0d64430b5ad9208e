"""Finished passes of a paddock on disk, one file each, so that nothing that was finished can be lost.

While a paddock is computed to RESULT.h5 its finished passes lie in the folder RESULT.h5.parts: `about.json` says what
is computed, `pass-00012.npz` holds a pass. Every file is written under a temporary name, flushed to disk and renamed:
a kill, a power cut or a full disk at any moment leaves whole files and perhaps a temporary one, which the next run
removes. A pass's file ends with a checksum over all of it (`analysis.storage.sealed`), and what is in it is held
against what a pass consists of before it is used. When all passes are there they are joined to RESULT.h5, again under a
temporary name, and rowbench's own files in the folder are removed; anything else in it stays, and the folder with it.
One process at a time: it holds a lock that the system frees with the process.

Nothing here is of one system only: the lock is filelock's, room is taken by writing, and a folder is flushed where the
system can.
"""

from __future__ import annotations

import errno
import io
import json
import os
import re
import shutil
import stat
import struct
import zipfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from itertools import starmap
from pathlib import Path
from typing import Any

import numpy as np
from filelock import FileLock, Timeout
from numpy.typing import NDArray

from analysis.paddock.heeds import Warned, plain
from analysis.paddock.result import PassResult
from analysis.storage.description import tame
from analysis.storage.npz import read_arrays
from analysis.storage.paddock_inputs import Sizes, checked_heeds, checked_problems
from analysis.storage.paddock_layout import FORMAT_VERSION
from analysis.storage.safe_write import discard, replace_file
from analysis.storage.sealed import sealed, unsealed
from analysis.storage.stored_values import Unfit, items, number, text, whole
from scenarios.format.errors import ScenarioError, fault

SPARE = 500_000  # room for what the joined file holds beside the passes [bytes]
_BLOCK = 1_000_000  # [bytes]
MOST_PASSES = 1_000_000
LARGEST_ABOUT = 1_000_000  # [bytes]
ARRAYS = ("section_x", "section_length", "row_y", "zone", "episodes", "breakouts", "series")


def to_bytes(result: PassResult, fingerprint: str) -> bytes:
    """A pass as the bytes of its file."""
    arrays: dict[str, Any] = {name: getattr(result, name) for name in ARRAYS}
    arrays |= {f"sections/{name}": values for name, values in result.sections.items()}
    arrays |= {f"totals/{name}": values for name, values in result.totals.items()}
    arrays |= {f"by_setting/{name}": values for name, values in result.by_setting.items()}
    problems = [[i, j, text] for (i, j), text in sorted(result.problems.items())]
    about = {"number": result.number, "length": result.length, "fingerprint": fingerprint,
             "format_version": FORMAT_VERSION, "problems": problems, "heeds": plain(result.heeds)}  # fmt: skip
    arrays["about"] = np.frombuffer(json.dumps(about).encode(), dtype=np.uint8)
    stream = io.BytesIO()
    np.savez(stream, **arrays)
    return sealed(stream.getvalue())


def from_bytes(data: bytes, fingerprint: str) -> PassResult:
    """A pass from its file's bytes. Raises ValueError where it is damaged, no pass, or another's."""
    arrays = read_arrays(unsealed(data))
    about = _about(arrays.get("about"))
    if about["format_version"] != FORMAT_VERSION or about["fingerprint"] != fingerprint:
        raise ValueError("of another run")

    def inside(prefix: str) -> dict[str, Any]:
        return {name.removeprefix(prefix): values for name, values in arrays.items() if name.startswith(prefix)}

    made = PassResult(
        number=about["number"],
        length=about["length"],
        sections=inside("sections/"),
        totals=inside("totals/"),
        by_setting=inside("by_setting/"),
        problems={},
        **{name: arrays[name] for name in ARRAYS},  # type: ignore[arg-type]
    )
    settings, rows = len(next(iter(made.by_setting.values()))), made.row_y.size
    made.check(settings, rows)
    sizes = Sizes(settings, MOST_PASSES, rows)
    listed = [[i, about["number"], j, text] for i, j, text in about["problems"]]
    made.problems.update({(i, j): text for i, _, j, text in checked_problems(listed, sizes)})
    made.heeds.update({(w.setting, w.heed.kind): w for w in starmap(Warned, checked_heeds(about["heeds"], sizes))})
    return made


def _about(packed: NDArray[Any] | None) -> dict[str, Any]:
    """What a pass says of itself, in JSON."""
    found = None if packed is None else json.loads(packed.tobytes())
    if not isinstance(found, dict):
        raise ValueError("no pass of rowbench")
    whole(found["number"], "number", 0, MOST_PASSES)
    number(found["length"], "length", 0.0, 1e6)
    for item in items(found["problems"], "problems"):
        if len(items(item, "problems", 3)) != 3:
            raise ValueError("problems of another form")
    return found


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that it is there whole or not at all, whatever happens meanwhile."""
    temporary = path.with_name(f".{path.name}.tmp")
    _make_way(temporary)
    try:
        with temporary.open("xb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        replace_file(temporary, path)
    except OSError:
        discard(temporary)
        raise
    sync_folder(path.parent)


def _make_way(place: Path) -> None:
    """Remove what a temporary file is to be written to: a link in its place would be written through."""
    if place.is_symlink() or place.exists():
        discard(place)


def sync_folder(folder: Path) -> None:
    """Make renames in a folder last through a power cut, where the system can."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:  # Windows opens no folders; it keeps renames in its journal
        return
    try:
        os.fsync(handle)
    except OSError:  # some network file systems cannot
        pass
    finally:
        os.close(handle)


def take_room(place: Path, size: int) -> None:
    """Take so many bytes of disk, and give them back. Raises OSError where there is not that much.

    Bytes are written, since only that works on every system and also meets a user's quota; and first the disk is
    asked, so that it is not filled up for nothing.
    """
    if shutil.disk_usage(place.parent).free < size:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
    block = os.urandom(_BLOCK)  # a folder that packs its files finds nothing to pack
    _make_way(place)
    try:
        with place.open("xb", buffering=0) as stream:
            for begin in range(0, size, _BLOCK):
                part = block[: size - begin]
                if stream.write(part) < len(part):
                    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            os.fsync(stream.fileno())
    finally:
        discard(place)


class Parts:
    """The folder of finished passes beside a result. Use as a context: it holds the lock meanwhile."""

    def __init__(self, out: Path, about: Mapping[str, Any]) -> None:
        """about: `fingerprint`, `name`, `versions` and `passes` of what is to be computed."""
        self.out, self.about = out, dict(about)
        self.folder = parts_folder(out)
        # of this object, not of a thread: whoever ends the context gives the lock back
        self._lock = FileLock(self.folder / "lock", thread_local=False)

    def __enter__(self) -> Parts:
        """Open the folder, or make it. Raises ScenarioError: in use, of another run, damaged, not to be written."""
        try:
            if self.folder.is_symlink():
                raise ScenarioError([fault(str(self.folder), "a link to another folder", "a folder of its own",
                                           "another --out, or delete the link")])  # fmt: skip
            self.folder.mkdir(exist_ok=True)
            self._take_lock()
        except OSError as error:
            raise ScenarioError([_unwritable(self.out, error)]) from None
        try:
            self._check_about()
        except BaseException:
            self._lock.release()
            raise
        for left in _own(self.folder, _TEMPORARY):
            discard(left)
        return self

    def __exit__(self, *exception: object) -> None:
        self._lock.release()
        with suppress(OSError):  # on Windows the lock, held, kept the folder from being removed
            self.folder.rmdir()

    def _take_lock(self) -> None:
        """Raises ScenarioError where another process that lives has it, or a link is in its place.

        A link, of either kind, is not opened: some versions of filelock empty the file they lock.
        """
        place = Path(self._lock.lock_file)
        if place.is_symlink() or (place.exists() and place.stat().st_nlink > 1):
            raise ScenarioError(
                [fault(str(place), "a link to another file", "a file that rowbench makes itself", "delete the link")]
            )
        try:
            self._lock.acquire(timeout=0)
        except Timeout:
            raise ScenarioError(
                [fault(str(self.folder), "another rowbench is writing there", "one at a time",
                       "wait for it, or stop it")]
            ) from None  # fmt: skip

    def _check_about(self) -> None:
        place = self.folder / "about.json"
        if not place.exists():
            try:
                write_whole(place, json.dumps(self.about, indent=1).encode())
            except OSError as error:
                raise ScenarioError([_unwritable(self.out, error)]) from None
            return
        found = read_about(self.out)
        if found["format_version"] != FORMAT_VERSION:
            raise ScenarioError([_other(self.folder, f"format version {found['format_version']}",
                                        f"version {FORMAT_VERSION}")])  # fmt: skip
        if found["fingerprint"] != self.about["fingerprint"]:
            raise ScenarioError([_other(self.folder, f"passes of another paddock or other settings ({found['name']})",
                                        "those of this file as it is now")])  # fmt: skip
        unlike = [name for name, text in self.about["versions"].items() if found["versions"].get(name) != text]
        if unlike:
            given = ", ".join(f"{name} {found['versions'].get(name)}" for name in unlike)
            here = ", ".join(f"{name} {self.about['versions'][name]}" for name in unlike)
            raise ScenarioError([_other(self.folder, f"passes made with {given}", f"those made with {here}")])

    def path(self, number: int) -> Path:
        """Where a pass lies."""
        return self.folder / f"pass-{number:05d}.npz"

    def finished(self) -> list[int]:
        """Numbers of the passes that are there, each read and checked. Raises ScenarioError for a damaged one."""
        there = [place for place in range(self.about["passes"]) if self.path(place).exists()]
        for place in there:
            self.read(place)
        return there

    def write(self, number: int, data: bytes) -> None:
        """Keep a finished pass. Raises ScenarioError where the disk is full or cannot be written."""
        try:
            write_whole(self.path(number), data)
        except OSError as error:
            raise ScenarioError([_unwritable(self.out, error)]) from None

    @contextmanager
    def joining(self) -> Iterator[Path]:
        """A temporary file to join all passes in; flushed to disk and renamed to the result when the block ends well.

        Raises ScenarioError where the disk is full or cannot be written. Room is made sure of first: HDF5 does not
        survive a disk that fills up under it. The joined file is smaller than the passes, as its datasets are packed.
        """
        temporary = self.folder / ".joined.tmp"
        try:
            take_room(temporary, sum(place.stat().st_size for place in self.folder.glob("pass-*.npz")) + SPARE)
            yield temporary
            with temporary.open("r+b") as stream:
                os.fsync(stream.fileno())
            replace_file(temporary, self.out)
            sync_folder(self.out.parent)
        except ScenarioError:
            raise
        except (OSError, RuntimeError, ValueError) as error:
            raise ScenarioError([_unjoined(self.out, error)]) from None
        finally:
            discard(temporary)

    def read(self, number: int) -> PassResult:
        """A finished pass. Raises ScenarioError where its file is damaged."""
        path = self.path(number)
        try:
            found = from_bytes(_bytes(path), self.about["fingerprint"])
            if found.number != number:
                raise ValueError(f"pass {found.number + 1}")
            return found
        except (OSError, EOFError, ValueError, KeyError, TypeError, NotImplementedError, RuntimeError, StopIteration,
                zipfile.BadZipFile, struct.error) as error:  # fmt: skip
            raise ScenarioError(
                [fault(str(path), f"damaged ({_said(error)})", "a whole file of a finished pass",
                       "delete it: the pass is then computed again")]
            ) from None  # fmt: skip


def parts_folder(out: Path) -> Path:
    """The folder of finished passes that belongs to a result."""
    return out.with_name(f"{out.name}.parts")


def remove_parts(out: Path) -> None:
    """Remove rowbench's own files from the folder, when everything has been joined, and the folder if it is empty."""
    folder = parts_folder(out)
    if folder.is_symlink() or not folder.is_dir():
        return
    for place in (*_own(folder, _PASS), *_own(folder, _TEMPORARY), *_own(folder, _BESIDE)):
        discard(place)
    with suppress(OSError):
        folder.rmdir()


_PASS = re.compile(r"pass-[0-9]{5,6}\.npz")
_TEMPORARY = re.compile(r"\.(pass-[0-9]{5,6}\.npz|about\.json|joined)\.tmp")
_BESIDE = re.compile(r"about\.json|lock")


def _own(folder: Path, names: re.Pattern[str]) -> list[Path]:
    """Files in the folder that rowbench names so."""
    return sorted(place for place in folder.iterdir() if names.fullmatch(place.name) and not place.is_dir())


def _bytes(path: Path) -> bytes:
    """A regular file's bytes. Raises OSError, ValueError for anything that is none."""
    if not stat.S_ISREG(path.stat().st_mode):
        raise ValueError("a folder, a device or a pipe")
    return path.read_bytes()


def _said(error: Exception) -> str:
    """What is wrong, in words without control characters."""
    if isinstance(error, Unfit):
        return tame(f"{error.where}: {error.given}")
    return tame(str(getattr(error, "strerror", None) or error) or type(error).__name__)[:200]


def read_about(out: Path) -> dict[str, Any]:
    """What the finished passes beside a result belong to. Raises ScenarioError where that cannot be read."""
    place = parts_folder(out) / "about.json"
    try:
        found = json.loads(_bytes(place)[:LARGEST_ABOUT].decode("utf-8"))
        about = {name: found[name] for name in ("format_version", "fingerprint", "name", "versions", "passes")}
        whole(about["passes"], "passes", 1, MOST_PASSES)
        for name in ("fingerprint", "name"):
            text(about[name], name)
        if not isinstance(about["versions"], dict):
            raise TypeError("versions are no texts by name")
        for name in about["versions"]:
            text(about["versions"][name], name)
        return about
    except (OSError, ValueError, KeyError, TypeError, RecursionError) as error:
        raise ScenarioError(
            [_other(place.parent, f"about.json cannot be read ({_said(error)})", "a folder of rowbench")]
        ) from None


def _unwritable(out: Path, error: OSError) -> str:
    reason = error.strerror or str(error)
    return fault(f"--out {out}", f"nothing more can be written there ({reason})", "room on a disk that can be written",
                 "make room, or another folder; what is finished is kept, and the same command goes on")  # fmt: skip


def _unjoined(out: Path, error: Exception) -> str:
    reason = os.strerror(error.errno) if isinstance(error, OSError) and error.errno else str(error)
    hint = f"close {out} where it is open" if isinstance(error, PermissionError) else "make room"
    return fault(f"--out {out}", f"the passes could not be joined ({reason})", "room for the result and its passes",
                 f"{hint}; all passes are kept, and the same command joins them")  # fmt: skip


def _other(folder: Path, given: str, allowed: str) -> str:
    return fault(str(folder), given, allowed, f"another --out, or delete {folder.name} to begin anew")
