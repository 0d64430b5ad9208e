"""Finished passes of a paddock on disk, one file each, so that nothing that was finished can be lost.

While a paddock is computed to RESULT.h5 its finished passes lie in the folder RESULT.h5.parts: `about.json` says what
is computed, `pass-00012.npz` holds a pass. Every file is written under a temporary name, flushed to disk and renamed:
a kill, a power cut or a full disk at any moment leaves whole files and perhaps a temporary one, which the next run
removes. Members of a pass's file carry checksums (CRC-32 of ZIP). When all passes are there they are joined to
RESULT.h5, again under a temporary name, and the folder is removed. One process at a time: it holds a lock that the
system frees with the process.

Nothing here is of one system only: the lock is filelock's, room is taken by writing, and a folder is flushed where the
system can.
"""

from __future__ import annotations

import errno
import io
import json
import os
import shutil
import zipfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import numpy as np
from filelock import FileLock, Timeout

from analysis.paddock.heeds import plain, warned_from
from analysis.paddock.result import PassResult
from analysis.storage.safe_write import discard, replace_file
from scenarios.format.errors import ScenarioError, fault

FORMAT, FORMAT_VERSION = "rowbench paddock", 1
SPARE = 500_000  # room for what the joined file holds beside the passes [bytes]
_BLOCK = 1_000_000  # [bytes]
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
    return stream.getvalue()


def from_bytes(stream: Any, fingerprint: str) -> PassResult:
    """A pass from its file. Raises ValueError (and the errors of zipfile) where it is damaged or another's."""
    with np.load(stream, allow_pickle=False) as found:
        arrays = {name: found[name] for name in found.files}
    about = json.loads(arrays["about"].tobytes())
    if about["format_version"] != FORMAT_VERSION or about["fingerprint"] != fingerprint:
        raise ValueError("of another run")

    def inside(prefix: str) -> dict[str, Any]:
        return {name.removeprefix(prefix): values for name, values in arrays.items() if name.startswith(prefix)}

    return PassResult(
        number=about["number"],
        length=about["length"],
        sections=inside("sections/"),
        totals=inside("totals/"),
        by_setting=inside("by_setting/"),
        problems={(i, j): text for i, j, text in about["problems"]},
        heeds=warned_from(about["heeds"]),
        **{name: arrays[name] for name in ARRAYS},
    )


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that it is there whole or not at all, whatever happens meanwhile."""
    temporary = path.with_name(f".{path.name}.tmp")
    try:
        with temporary.open("wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        replace_file(temporary, path)
    except OSError:
        discard(temporary)
        raise
    sync_folder(path.parent)


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
    try:
        with place.open("wb", buffering=0) as stream:
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
            self.folder.mkdir(exist_ok=True)
            self._take_lock()
        except OSError as error:
            raise ScenarioError([_unwritable(self.out, error)]) from None
        try:
            self._check_about()
        except BaseException:
            self._lock.release()
            raise
        for left in self.folder.glob(".*.tmp"):
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
        there = [number for number in range(self.about["passes"]) if self.path(number).exists()]
        for number in there:
            self.read(number)
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
            return from_bytes(io.BytesIO(path.read_bytes()), self.about["fingerprint"])
        except (OSError, EOFError, ValueError, KeyError, zipfile.BadZipFile) as error:
            raise ScenarioError(
                [fault(str(path), f"damaged ({error})", "a whole file of a finished pass",
                       "delete it: the pass is then computed again")]
            ) from None  # fmt: skip


def parts_folder(out: Path) -> Path:
    """The folder of finished passes that belongs to a result."""
    return out.with_name(f"{out.name}.parts")


def remove_parts(out: Path) -> None:
    """Remove the folder, when everything has been joined."""
    shutil.rmtree(parts_folder(out), ignore_errors=True)


def read_about(out: Path) -> dict[str, Any]:
    """What the finished passes beside a result belong to. Raises ScenarioError where that cannot be read."""
    place = parts_folder(out) / "about.json"
    try:
        found = json.loads(place.read_text(encoding="utf-8"))
        return {name: found[name] for name in ("format_version", "fingerprint", "name", "versions", "passes")}
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise ScenarioError(
            [_other(place.parent, f"about.json cannot be read ({error})", "a folder of rowbench")]
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
