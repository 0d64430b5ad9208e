"""How far a paddock is, how fast it goes and how long it will still take, as one line of text."""

from __future__ import annotations

import time
from collections.abc import Callable

from analysis.present.progress import duration


class RateMeter:
    """Turns (passes done, passes in all, unit-seconds done in this call) into a line; `say` gets it.

    every: least time between two lines [s]; the last one always comes. overwrite: lines write over one another.
    """

    def __init__(
        self, say: Callable[..., None], every: float, *, overwrite: bool = False,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:  # fmt: skip
        self.say, self.every, self.overwrite, self.clock = say, every, overwrite, clock
        self.begin = self.last = clock()
        self.first: int | None = None

    def __call__(self, done: int, total: int, unit_seconds: float) -> None:
        """Report that `done` of `total` passes are over."""
        if self.first is None:
            self.first = done - 1  # finished before this call
        now = self.clock()
        if done < total and now - self.last < self.every:
            return
        self.last = now
        taken = max(now - self.begin, 1e-9)
        left = taken / (done - self.first) * (total - done)
        rest = f"about {duration(left)} left" if done < total else f"{duration(taken)} taken"
        text = f"passes: {done} of {total}, {unit_seconds / taken:,.0f} unit-seconds a second, {rest}"
        if self.overwrite:
            self.say(f"\r{text:<78}", end="\n" if done == total else "")
        else:
            self.say(text)
