"""Who is told when machine code has to be made, which takes from a tenth of a second to a minute.

Told is what the compiler itself reports (`sim.arithmetic.compiled`), after it has looked for the code on disk in vain:
no guess from files, so that nobody waits in silence and nobody is told of a wait that does not come. This module does
not import the compiler: a command that compiles nothing pays nothing for it.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Protocol


class Watcher(Protocol):
    """Told of every function that is compiled to be kept on disk; one at a time, in whatever thread compiles."""

    def begun(self, name: str) -> None:
        """The function of this dotted name is being compiled."""
        ...

    def ended(self, name: str) -> None:
        """It is compiled."""
        ...


_watchers: list[Watcher] = []


@contextmanager
def watched(watcher: Watcher) -> Iterator[None]:
    """Tells a watcher as long as this lasts."""
    _watchers.append(watcher)
    try:
        yield
    finally:
        _watchers.remove(watcher)


def watch(watcher: Watcher) -> None:
    """Tells a watcher as long as the process lives."""
    _watchers.append(watcher)


def tell(name: str, *, begun: bool) -> None:
    """Tell all watchers that a function begins to be compiled, or is compiled."""
    for watcher in tuple(_watchers):
        (watcher.begun if begun else watcher.ended)(name)
