"""TOML file → document, with every way in which a file cannot be read told in words."""

from __future__ import annotations

import stat
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from scenarios.format.errors import ScenarioError, refused

LARGEST = 5_000_000  # bytes: a scenario of some hundred keys has some thousand
DEEPEST = 20  # tables and lists in one another
MOST = 2**63 - 1  # largest whole number of TOML 1.0


Chain = tuple[tuple[str, str], ...]  # name and text of each file that a table takes over, the nearest first


@dataclass(frozen=True)
class Source:
    """The texts that something was made from: its own file's, and those of the files that its tables take over."""

    text: str
    chains: Mapping[str, Chain] = field(default_factory=dict)  # by table: unit, soil


def read_text(path: Path, what: str, *, largest: int = LARGEST) -> str:
    """Text of a file in UTF-8 (a byte-order mark is dropped). Raises ScenarioError if it cannot be read as text."""
    try:
        if not stat.S_ISREG((state := path.stat()).st_mode) and not stat.S_ISDIR(state.st_mode):
            raise refused(path, "a pipe or a device", f"a file: {what}", "write it to a file first")
        with path.open("rb") as stream:
            data = stream.read(largest + 1)
        if len(data) > largest:
            allowed = f"{what} of up to {largest // 1_000_000} MB"
            raise refused(path, "a larger file", allowed, "another file or a shorter one")
        return data.decode("utf-8-sig")
    except FileNotFoundError:
        raise refused(path, "there is no such file", what, "check the path and the spelling") from None
    except IsADirectoryError:
        raise refused(path, "a folder", what, "name a file in it") from None
    except UnicodeDecodeError as error:
        given = f"bytes that are not UTF-8 (at byte {error.start})"
        raise refused(path, given, f"{what} as text in UTF-8", "save it again as UTF-8 text") from None
    except (OSError, ValueError) as error:
        if isinstance(error, ScenarioError):
            raise
        reason = getattr(error, "strerror", None) or str(error)
        raise refused(path, f"cannot be read ({reason})", what, "check that it may be read") from None


def read_toml(path: Path) -> dict[str, Any]:
    """A TOML file as a document. Raises ScenarioError if it cannot be read or is not TOML."""
    return parse_toml(read_text(path, "a scenario file (TOML)"), path)


def parse_toml(text: str, path: Path) -> dict[str, Any]:
    """The text of a TOML file as a document; `path` names it in messages. Raises ScenarioError where it is not TOML."""
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        given = f"not TOML: {error}"
        raise refused(path, given, "TOML 1.0", 'write key = value, texts in "quotes"; rowbench new shows how') from None
    except RecursionError:
        raise _too_deep(path) from None
    except ValueError:  # Python's own bound on figures
        raise _too_large(path) from None
    _check_values(document, path)
    return document


def _check_values(document: dict[str, Any], path: Path) -> None:
    """Raises ScenarioError where tables stand too deep in one another, or a whole number is larger than TOML has."""
    layer: list[Any] = [document]
    for _ in range(DEEPEST):
        inner = [value for thing in layer for value in (thing.values() if isinstance(thing, dict) else thing)]
        if any(isinstance(value, int) and abs(value) > MOST for value in inner):
            raise _too_large(path)
        layer = [value for value in inner if isinstance(value, dict | list)]
        if not layer:
            return
    raise _too_deep(path)


def _too_deep(path: Path) -> ScenarioError:
    return refused(path, "tables or lists nested too deep", f"up to {DEEPEST} in one another", "fewer brackets")


def _too_large(path: Path) -> ScenarioError:
    return refused(path, "a whole number with too many figures", f"up to {MOST}", "1e20, or fewer figures")
