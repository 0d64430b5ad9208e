"""Which of the program's own files stand behind a module: found by walking its imports, never from a list kept by hand.

Two things are named after such a set of files: the folder of compiled code (`compilecache`) and the stored parts of a
paddock, which are only joined with parts computed by the same code.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable
from functools import cache
from pathlib import Path

PACKAGES = ("sim", "scenarios", "analysis")
ROOT = Path(__file__).parents[2]  # the folder that holds the three packages

_IMPORT = re.compile(rb"^[ \t]*(?:from +([\w.]+) +import +(\([^)]*\)|[^\n#]+)|import +([^\n#]+))", re.M)
_COMPILES = re.compile(rb"^[ \t]*(?:from|import) +(?:numba|sim\.arithmetic\.compiled)\b", re.M)


def all_sources() -> list[Path]:
    """Every Python file of the three packages, in order of path."""
    return sorted(file for package in PACKAGES for file in (ROOT / package).rglob("*.py"))


def compiled_sources() -> list[Path]:
    """Files that hold compiled code, and all that they import: what machine code can depend on."""
    return behind(file for file in all_sources() if _compiles(file.read_bytes()))


def behind(files: Iterable[Path]) -> list[Path]:
    """The given files and those of the three packages that they import, directly or not, in order of path.

    Imports anywhere in a file count, also those inside functions and for the type checker only. Raises
    FileNotFoundError where a given file is missing.
    """
    found: set[Path] = set()
    waiting = list(files)
    while waiting:
        file = waiting.pop()
        if file not in found:
            found.add(file)
            waiting += _imported(file)
    return sorted(found)


def digest(files: Iterable[Path], *more: str) -> str:
    """Sixteen hexadecimal digits that change with the place, within the packages, or the contents of any file."""
    made = hashlib.sha256("\0".join(more).encode())
    for file in files:
        made.update(file.relative_to(ROOT).as_posix().encode())
        made.update(file.read_bytes())
    return made.hexdigest()[:16]


def _compiles(text: bytes) -> bool:
    """Whether a file's text imports the compiler; most do not even name it, which is quicker to see."""
    return (b"numba" in text or b"sim.arithmetic.compiled" in text) and _COMPILES.search(text) is not None


def _imported(file: Path) -> list[Path]:
    """Files of the three packages that a file names in its imports."""
    found: list[Path] = []
    for module, names, plain in _IMPORT.findall(file.read_bytes()):
        modules = [module] if module else [word.split()[0] for word in plain.split(b",")]
        if module:
            inner = names.replace(b"(", b" ").replace(b")", b" ").split(b",")
            modules += [module + b"." + word.split()[0] for word in inner if word.strip()]
        for name in modules:
            found += _files(name.decode(), ROOT)
    return found


@cache
def _files(module: str, root: Path) -> tuple[Path, ...]:
    """The file of a module or of a package; nothing for a name that is neither, or not of the three packages."""
    parts = module.split(".")
    if parts[0] not in PACKAGES:
        return ()
    place = root.joinpath(*parts)
    return tuple(path for path in (place.with_suffix(".py"), place / "__init__.py") if path.is_file())
