"""Files that are either whole or not there: written beside their place under another name, then renamed."""

from __future__ import annotations

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from scenarios.format.errors import fault, shown


def output_fault(path: Path, what: str, endings: tuple[str, ...]) -> str | None:
    """Why a file could not be written there, as a fault in words; None if it could. Leaves nothing behind.

    what: how the file is asked for, e.g. "--figure"; endings: file endings allowed, e.g. (".png",).
    """
    folder = path.parent
    given = f"given {shown(str(path))}"
    if path.suffix.lower() not in endings:
        return fault(what, given, f"a file ending in {' or '.join(endings)}", f'"{path.stem or "result"}{endings[0]}"')
    if path.is_dir():
        return fault(what, f"{given}, which is a folder", "a file", f'"{path / "result"}{endings[0]}"')
    if not folder.is_dir():
        return fault(what, f"{given}, but there is no folder {shown(str(folder))}", "a folder that is there",
                     f"mkdir -p {folder}")  # fmt: skip
    try:
        with _beside(path).open("xb") as stream:
            trial = Path(stream.name)
        trial.unlink()
    except OSError as error:
        reason = error.strerror or str(error)
        return fault(what, f"{given}, but nothing can be written in {shown(str(folder))} ({reason})",
                     "a folder that can be written", "another folder, or its owner")  # fmt: skip
    return None


@contextmanager
def replacing(path: Path, *, keep_existing: bool = False) -> Iterator[Path]:
    """A temporary file beside `path` to write to; renamed to `path` when the block ends well, else removed.

    keep_existing: raise FileExistsError in place of replacing a file that is there.
    """
    temporary = _beside(path)
    try:
        yield temporary
        if keep_existing:
            _move_without_replacing(temporary, path)
        else:
            temporary.replace(path)
    finally:
        temporary.unlink(missing_ok=True)


def _move_without_replacing(source: Path, target: Path) -> None:
    try:
        os.link(source, target)
    except FileExistsError:
        raise
    except OSError:  # file systems without hard links
        if target.exists():
            raise FileExistsError(str(target)) from None
        source.replace(target)


def _beside(path: Path) -> Path:
    """A name in the same folder that nobody else uses; the ending stays, since writers choose a format by it."""
    return path.with_name(f".{path.stem[:40]}-{secrets.token_hex(4)}{path.suffix}")
