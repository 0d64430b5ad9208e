"""The one exception that bad input raises, and how a fault reads."""

from __future__ import annotations

import difflib
import math
import unicodedata
from collections.abc import Iterable, Sequence
from pathlib import Path


class ScenarioError(ValueError):
    """Bad input: every fault found in it, each naming where, what was given, what is allowed and what to try.

    `str()` is the message for the user; `faults` holds the single faults, in order.
    """

    faults: tuple[str, ...]

    def __init__(self, faults: Iterable[str]) -> None:
        self.faults = tuple(faults)
        if not self.faults:
            raise ValueError("a ScenarioError needs at least one fault")
        super().__init__(_message(self.faults))

    def __reduce__(self) -> tuple[type, tuple[tuple[str, ...]]]:
        """Pickle by the faults, so that a worker process can hand the error back."""
        return (type(self), (self.faults,))


def _message(faults: Sequence[str]) -> str:
    """One fault as it is; several as a numbered list."""
    if len(faults) == 1:
        return faults[0]
    lines = [f"{len(faults)} faults:"]
    lines += [f"  {i}. {text}" for i, text in enumerate(faults, start=1)]
    return "\n".join(lines)


def fault(where: str, given: str, allowed: str, hint: str) -> str:
    """One fault as text: where · what was given · what is allowed · what to try.

    >>> fault("a.toml: soil.base", 'given "frim"', "soft, firm, hard", '"firm"')
    'a.toml: soil.base: given "frim"; allowed: soft, firm, hard; try: "firm"'
    """
    return f"{where}: {given}; allowed: {allowed}; try: {hint}"


def refused(path: Path, given: str, allowed: str, hint: str) -> ScenarioError:
    """The error for a file that is not read."""
    return ScenarioError([fault(str(path), given, allowed, hint)])


def closest(word: str, known: Iterable[str]) -> str | None:
    """The known word that looks most like this one, or None if none comes near.

    A key whose unit was left out is the nearest.

    >>> closest("speed", ["seed", "speed_kmh"]), closest("lenght", ["length", "height"]), closest("x", ["length"])
    ('speed_kmh', 'length', None)
    """
    listed = list(known)
    with_unit = [name for name in listed if word and name.startswith(f"{word}_")]
    if len(with_unit) == 1 and word not in listed:
        return with_unit[0]
    found = difflib.get_close_matches(word, listed, n=1, cutoff=0.6)
    return found[0] if found else None


def closest_name(word: str, known: Iterable[str]) -> str | None:
    """The known name that this word may have meant: as `closest`, else the likeliest that begins with the same letter,
    as where a word was written by its sound.

    >>> closest_name("ruff", ["bank", "ridges", "rough"]), closest_name("xyz", ["bank"])
    ('rough', None)
    """
    listed = list(known)
    near = closest(word, listed)
    if near is None and word:
        alike = difflib.get_close_matches(word, [name for name in listed if name[:1] == word[:1].lower()], 1, 0.4)
        near = alike[0] if alike else None
    return near


def plain(text: str) -> str:
    """A text of a file or command line as a terminal may show it: what steers it, or has no look, by its number.

    >>> plain("a" + chr(27) + "[2J") == "a" + chr(92) + "x1b[2J"
    True
    """
    return "".join(mark if mark.isprintable() else ascii(mark)[1:-1] for mark in text)


def steady(text: str) -> str:
    """A text of many lines in which nothing steers a terminal, whatever names and titles it holds; spaces stay.

    >>> steady("a" + chr(27) + "[2J\\nb") == "a" + chr(92) + "x1b[2J\\nb"
    True
    """
    return "".join(mark if mark in "\n\t" or unicodedata.category(mark) == "Zs" else plain(mark) for mark in text)


def shown(value: object) -> str:
    """A given value as it would stand in a file, shortened if long."""
    if isinstance(value, bool):
        text = "true" if value else "false"
    elif isinstance(value, str):
        text = f'"{value}"'
    elif isinstance(value, float) and not math.isfinite(value):
        text = str(value)
    elif isinstance(value, dict):
        text = "a table"
    else:
        text = str(value)
    text = plain(text)
    return text if len(text) <= 60 else text[:57] + "..."
