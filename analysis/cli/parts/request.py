"""What one call asks for, and its ways to tell of what takes long."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, field
from typing import Any

from analysis.present.progress import Meter


def _nothing(text: str, **_how: object) -> None:
    """Say nothing."""


@dataclass(frozen=True)
class Request:
    """What one call asks for. `given`: the options as text by name, None where left out.

    faults: words that belong to no option, to be told with the faults of the options and of the file. The last four
    are for what takes long: say a word beside the result, show a part of the text before the rest is there (nothing
    where JSON is asked for), meter(what) for how far it is, and compiling(seconds) around what may have to be compiled.
    """

    command: str
    given: Mapping[str, Any] = field(default_factory=dict)
    faults: tuple[str, ...] = ()
    say: Callable[[str], None] = _nothing
    show: Callable[[str], None] = _nothing
    meter: Callable[[str], Meter] = lambda what: Meter(what, _nothing, 10.0)
    compiling: Callable[[float], AbstractContextManager[None]] = lambda seconds: nullcontext()

    @property
    def source(self) -> str:
        """FILE, or an empty text."""
        return str(self.given.get("file") or "")

    @property
    def json(self) -> bool:
        """Whether the document is wanted in place of the text."""
        return bool(self.given.get("json"))
