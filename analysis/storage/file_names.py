"""Names that a file can have: on the system it is written on, and on the one it is handed on to.

Windows has names that no file can have (`windows_refuses`), and takes `Map.png` and `map.png` for one
file. Who is told of it when:

- A name is refused where it is written on Windows. Elsewhere `wet:dry.png` is a good name, and whoever chose it need
  not care about other systems.
- A page that is made to be handed on (`formats.HANDED_ON`) has to have a name that every system can keep: it would
  otherwise be lost on somebody else's desk, where nobody can make it again.
- Whatever else a system or a disk does not take (too long, a character that a memory stick cannot keep) is asked of it.
- Two outputs of one command that are one file are refused, and so is an output that is one of the files that the
  command reads: it would be gone, or another one at the next call. Whether a folder tells capitals from small letters
  is tried out in it, since a stick may differ from the disk beside it.

The rules of Windows are from memory; the tests compare them with those in Python's library.
"""

from __future__ import annotations

import os
import secrets
from collections.abc import Iterable, Mapping
from itertools import combinations
from pathlib import Path

from analysis.storage.formats import HANDED_ON
from scenarios.format.errors import fault, shown

ON_WINDOWS = os.name == "nt"
LONGEST = 259  # characters of a whole path, folders included, that Windows takes unless long paths are switched on
_FORBIDDEN = '<>:"/\\|?*'
_PORTS = {f"{port}{number}" for port in ("COM", "LPT") for number in "123456789¹²³"}
_DEVICES = {"CON", "PRN", "AUX", "NUL", "CONIN$", "CONOUT$"} | _PORTS


def windows_refuses(name: str) -> str | None:
    """Why Windows keeps no file or folder of that name (no path), in words; None if it would.

    >>> windows_refuses("aux.png")
    'on Windows "aux" is a device, whatever ending follows'
    >>> windows_refuses("wet:dry.png")
    'on Windows no name holds ":"'
    >>> windows_refuses("map.png") is None
    True
    """
    strange = sorted({mark for mark in name if mark in _FORBIDDEN or mark < " "})
    if strange:
        return f"on Windows no name holds {' or '.join(shown(mark) if mark >= ' ' else repr(mark) for mark in strange)}"
    if _device(name):
        return f"on Windows {shown(name.partition('.')[0].rstrip())} is a device, whatever ending follows"
    if name.endswith((".", " ")):
        return "on Windows no name ends with a dot or a space"
    return None


def _device(name: str) -> bool:
    return name.partition(".")[0].rstrip(" ").upper() in _DEVICES


def fitting(name: str) -> str:
    """The nearest name that every system can keep.

    >>> fitting("wet:dry?.png"), fitting("aux.png"), fitting("map. ")
    ('wet_dry_.png', 'aux_.png', 'map')
    """
    plain = "".join("_" if mark in _FORBIDDEN or mark < " " else mark for mark in name).rstrip(". ")
    stem, dot, rest = plain.partition(".")
    return f"{stem.rstrip()}_{dot}{rest}" if _device(plain) else plain or "result"


def name_fault(path: Path, what: str) -> str | None:
    """Why no file of that name can be there, or be handed on, as a fault in words; None if it can.

    what: how the file is asked for, e.g. "--figure".
    """
    handed_on = path.suffix.lower() in HANDED_ON
    wrong = windows_refuses(path.name) if ON_WINDOWS or handed_on else None
    if wrong is not None:
        wanted = "a name that every system can keep, as the page is to be handed on" if handed_on else "another name"
        return fault(what, f"given {shown(str(path))}, but {wrong}", wanted, f'"{path.with_name(fitting(path.name))}"')
    try:
        path.lstat()
    except (FileNotFoundError, NotADirectoryError, PermissionError):
        return None  # the folder, then, is asked for room and leave to write
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        return fault(what, f"given {shown(str(path))}, which no file can be called here ({reason})",
                     "a name that this system takes", f'"{path.with_name("result" + path.suffix[:8])}"')  # fmt: skip
    return None


def too_long(path: Path) -> str:
    """Words to follow the system's reason where a path is longer than Windows takes; else nothing."""
    length = len(str(path.absolute()))
    if not ON_WINDOWS or length <= LONGEST:
        return ""
    return f"; the whole path has {length} characters, and Windows takes {LONGEST} unless long paths are switched on"


def clashes(outputs: Mapping[str, Path]) -> list[str]:
    """Faults of outputs of one command, by the option each is asked for with, of which two would be one file.

    Creates and removes a file in a folder where two names differ in capitals only.
    """
    found = []
    for (one, first), (other, second) in combinations(outputs.items(), 2):
        if _one_file(first, second):
            given = f"given {shown(str(second))}, which is the file of {one} ({shown(str(first))}) here"
            hint = f'"{second.with_name(f"{second.stem}_2{second.suffix}")}"'
            found.append(fault(other, given, "a file of its own for each", hint))
    return found


def overwritten(outputs: Mapping[str, Path], inputs: Iterable[Path]) -> list[str]:
    """Faults of outputs, by the option each is asked for with, that would write over a file that is read."""
    found = []
    for name, path in outputs.items():
        for read in inputs:
            if _one_file(path, read):
                given = f"given {shown(str(path))}, which would write over {read.name}, a file that is read"
                hint = f'"{path.with_name(f"{path.stem}_2{path.suffix}")}"'
                found.append(fault(name, given, "a file that nothing is read from", hint))
                break
    return found


def led_to(path: Path) -> Path:
    """Where a link leads; a path that is none, or leads nowhere, as it is."""
    return Path(os.path.realpath(path)) if path.is_symlink() and path.exists() else path


def _one_file(first: Path, second: Path) -> bool:
    try:
        a, b = (path.parent.resolve() / path.name for path in map(led_to, (first, second)))
    except (OSError, RuntimeError, ValueError):  # no path of this system: told elsewhere
        return False
    return a == b or (str(a).casefold() == str(b).casefold() and _ignores_case(a.parent))


def _ignores_case(folder: Path) -> bool:
    """Whether a folder takes capitals and small letters for the same; False where nothing can be written in it."""
    trial = folder / f".case-{secrets.token_hex(4)}"
    try:
        trial.touch(exist_ok=False)
    except OSError:
        return False
    try:
        return trial.with_name(trial.name.upper()).exists()
    finally:
        trial.unlink(missing_ok=True)
