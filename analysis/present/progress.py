"""How far a long job is, and how long it will still take, as one line of text."""

from __future__ import annotations

import time
from collections.abc import Callable

Say = Callable[[str], None]


class Meter:
    """Turns (done, total) into lines such as "crossings: 84 of 168, about 12 s left"; `say` gets them.

    every: least time between two lines [s]; the last one always comes. clock: for tests.
    """

    def __init__(self, what: str, say: Say, every: float, clock: Callable[[], float] = time.monotonic) -> None:
        self.what, self.say, self.every, self.clock = what, say, every, clock
        self.begin = clock()
        self.last = self.begin

    def __call__(self, done: int, total: int) -> None:
        """Report that `done` of `total` jobs are over."""
        now = self.clock()
        if done < total and now - self.last < self.every:
            return
        self.last = now
        left = (now - self.begin) / done * (total - done)
        rest = f"about {duration(left)} left" if done < total else f"{duration(now - self.begin)} taken"
        self.say(f"{self.what}: {done} of {total}, {rest}")


def duration(seconds: float) -> str:
    """A time span in words.

    >>> duration(0.4), duration(42.3), duration(200), duration(8000)
    ('1 s', '42 s', '3 min 20 s', '2 h 13 min')
    """
    whole = max(1, round(seconds))
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        return f"{whole // 60} min {whole % 60} s"
    return f"{whole // 3600} h {whole % 3600 // 60} min"
