"""One case in a child of this process: a hang, a crash or a hunger for memory ends that child alone, and nothing that
one case leaves in memory reaches the next. The child is a copy, so that it starts with all compiled and imported.
"""

from __future__ import annotations

import os
import pickle
import resource
import signal
import sys
import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass

from .attempt import FINE, Outcome

LONGEST = 10.0  # s of computing that a case may take
WAITED = 60.0  # s on the clock: other work may share the machine
LARGEST = 1e9  # bytes that the process may have come to


@dataclass(frozen=True)
class Tried:
    """What came of a case: its kind (as the case names it), its time [s of computing] and its peak memory [bytes]."""

    number: int
    kind: str
    outcome: Outcome
    taken: float
    peak: float


class Child:
    """The process of one case."""

    def __init__(self, number: int, work: Callable[[int], tuple[str, Outcome]]) -> None:
        self.number, self.until = number, time.monotonic() + WAITED
        self.pipe, far = os.pipe()
        sys.stdout.flush()
        sys.stderr.flush()
        self.process = os.fork()
        if not self.process:
            _alone(number, work, far)
        os.close(far)

    @property
    def late(self) -> bool:
        """Whether it is to be ended."""
        return time.monotonic() > self.until

    def ended(self) -> Tried:
        """What it said, once it has; one that is late is killed with all that it started."""
        late, said = self.late, b""
        if late:
            os.killpg(self.process, signal.SIGKILL)
        while block := os.read(self.pipe, 1 << 20):
            said += block
        os.close(self.pipe)
        _, status, used = os.wait4(self.process, 0)
        kind, outcome = pickle.loads(said) if said else ("", Outcome("CRASH", f"status {status}"))
        taken, peak = used.ru_utime + used.ru_stime, used.ru_maxrss * 1024.0
        if late or taken > LONGEST or (os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGXCPU):
            outcome = Outcome("HANG", f"{taken:.0f} s of computing, {'killed' if not said else 'done'}")
        elif peak > LARGEST and outcome.how in FINE:
            outcome = Outcome("MEMORY", f"{peak / 1e6:.0f} MB")
        return Tried(self.number, kind, outcome, taken, peak)


def _alone(number: int, work: Callable[[int], tuple[str, Outcome]], pipe: int) -> None:
    """In the child: do it, say what came of it, and end without Python's own end."""
    code = 1
    try:
        os.setsid()
        os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
        resource.setrlimit(resource.RLIMIT_CPU, (int(LONGEST) + 2, int(LONGEST) + 5))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        said = pickle.dumps(work(number))
        with os.fdopen(pipe, "wb") as stream:
            stream.write(said)
        code = 0
    except BaseException:
        traceback.print_exc()
        sys.stderr.flush()
    os._exit(code)
