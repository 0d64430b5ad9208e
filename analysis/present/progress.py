"""How far a long job is, and how long it will still take, as one line of text.

Our own, since tqdm and rich write to the stream themselves and, away from a terminal, give no line now and then that
a log can keep: `say` is handed in here, and only the command line writes.
"""

from __future__ import annotations

import time
from collections.abc import Callable


class Meter:
    """Turns (done, total) into lines such as "crossings: 84 of 168, about 12 s left"; `say` gets them.

    every: least time between two lines [s]; the last one always comes. overwrite: lines write over one another, as on
    a terminal. clock: for tests.
    """

    def __init__(
        self, what: str, say: Callable[..., None], every: float, clock: Callable[[], float] = time.monotonic,
        *, overwrite: bool = False,
    ) -> None:  # fmt: skip
        self.what, self.say, self.every, self.clock, self.overwrite = what, say, every, clock, overwrite
        self.begin = self.last = clock()
        self.before: int | None = None

    def __call__(self, done: int, total: int, unit_seconds: float | None = None) -> None:
        """Report that `done` of `total` jobs are over.

        unit_seconds: time crossed by all rows in this call so far [s], for jobs that go on where an earlier call
        stopped: their rate is told too, and what was done before the first report does not count as done in this call.
        """
        if self.before is None:
            self.before = 0 if unit_seconds is None else done - 1
        now = self.clock()
        if done < total and now - self.last < self.every:
            return
        self.last = now
        taken = max(now - self.begin, 1e-9)
        left = taken / (done - self.before) * (total - done)
        rate = "" if unit_seconds is None else f", {unit_seconds / taken:,.0f} × as fast as a row drives"
        rest = f"about {duration(left)} left" if done < total else f"{duration(taken)} taken"
        text = f"{self.what}: {done} of {total}{rate}, {rest}"
        if self.overwrite:
            self.say(f"\r{text:<78}", end="\n" if done == total else "")
        else:
            self.say(text)


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
