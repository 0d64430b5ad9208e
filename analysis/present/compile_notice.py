"""What is told while the model is compiled: that it happens once, how long it usually takes, and how long it took."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Event, Lock, Thread

from analysis.present.progress import duration

WHAT = "compiling the model, once on this machine"
SHORT = 3.0  # a part that takes less than this [s] is told of only where it has gone on for …
PATIENCE = 2.0  # … this long [s]


def usual(seconds: float) -> str:
    """A time that compiling usually takes, never told as less than it is.

    >>> usual(8.0), usual(48.0), usual(66.0), usual(0.5)
    ('about 10 s', 'about 50 s', 'about 1 min 10 s', 'some seconds')
    """
    return f"about {duration(10.0 * math.ceil(seconds / 10.0))}" if seconds > SHORT else "some seconds"


def notice(seconds: float) -> str:
    """What is told before parts that usually take so long [s] are compiled."""
    return f"{WHAT}: {usual(seconds)}, more on a busy one…"


class CompileNotice:
    """A watcher (`sim.arithmetic.compiling`) that says so as compiling begins, how long it goes on, how long it took.

    say gets the lines; expected(name) → how long the part of that name usually takes [s]. overwrite: lines write over
    one another, as on a terminal. clock, every [s]: for tests.
    """

    def __init__(
        self, say: Callable[..., None], expected: Callable[[str], float], *, overwrite: bool = False,
        clock: Callable[[], float] = time.monotonic, every: float = 1.0,
    ) -> None:  # fmt: skip
        self.say, self.expected, self.overwrite, self.clock, self.every = say, expected, overwrite, clock, every
        self.due = 0.0  # what all parts of a spell usually take [s], 0 outside of one
        self.since: float | None = None  # when the first part was begun that is not told as over yet
        self.told = False
        self.over, self.lock = Event(), Lock()

    @contextmanager
    def spell(self, seconds: float) -> Iterator[None]:
        """Parts that are compiled within, usually in so many seconds, are told of as one."""
        self.due = seconds
        try:
            yield
        finally:
            self.due = 0.0
            self._close()

    def begun(self, name: str) -> None:
        """A part is being compiled."""
        seconds = max(self.due, self.expected(name))
        if self.since is None:
            self.since = self.clock()
        self.over = Event()
        if seconds > SHORT and not self.told:
            self._tell(seconds)
        Thread(target=self._tick, args=(seconds, self.over), daemon=True).start()

    def ended(self, name: str) -> None:
        """It is compiled."""
        self.over.set()
        if not self.due:
            self._close()

    def _tell(self, seconds: float) -> None:
        self.told = True
        self.say(notice(seconds))

    def _tick(self, seconds: float, over: Event) -> None:
        """While a part is compiled: tell of one that takes longer than thought, and how long it goes on."""
        wait = self.every if self.told else PATIENCE
        while not over.wait(wait):
            with self.lock:
                if over.is_set():
                    return
                if not self.told:
                    self._tell(seconds)
                elif self.overwrite:
                    self._line(f"{duration(self._taken())} of {usual(seconds)}", end="")
            wait = self.every

    def _close(self) -> None:
        with self.lock:
            if self.told:
                self._line(f"{duration(self._taken())} taken", end="\n")
            self.since, self.told = None, False

    def _taken(self) -> float:
        return 0.0 if self.since is None else self.clock() - self.since

    def _line(self, text: str, end: str) -> None:
        line = f"{WHAT}: {text}"
        self.say(f"\r{line:<78}" if self.overwrite else line, end=end)
