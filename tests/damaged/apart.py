"""Cases in children of this process, a handful in each: a hang, a crash or a hunger for memory ends that child alone,
and what a case leaves in memory reaches few others. A child is a copy: it starts with all compiled and imported.
"""

from __future__ import annotations

import os
import pickle
import resource
import signal
import struct
import sys
import time
import traceback
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from .attempt import FINE, Outcome

LONGEST = 10.0  # s of computing that a case may take
WAITED = 120.0  # s on the clock: other work may share the machine
LARGEST = 1e9  # bytes that the process may have come to
Work = Callable[[int], tuple[str, Outcome]]  # number of a case → its kind, how it ended


@dataclass(frozen=True)
class Tried:
    """What came of a case: its kind ("" where it could not say), its computing [s], the peak of its process [bytes]."""

    number: int
    kind: str
    outcome: Outcome
    taken: float = 0.0
    peak: float = 0.0


class Child:
    """A process that tries a few cases, one after the other."""

    def __init__(self, numbers: list[int], work: Work) -> None:
        self.left, self.until = list(numbers), time.monotonic() + WAITED
        self.pipe, far = os.pipe()
        self._said = b""
        sys.stdout.flush()
        sys.stderr.flush()
        self.process = os.fork()
        if not self.process:
            os.close(self.pipe)
            _alone(numbers, work, far)
        os.close(far)

    @property
    def late(self) -> bool:
        """Whether its case is at it for too long."""
        return time.monotonic() > self.until

    def told(self) -> tuple[list[Tried], bool]:
        """What it has told since, and whether it has ended; to be called when there is something, or when it is late.

        One that is late is killed with all that it started. `left` is then what it did not come to.
        """
        late = self.late
        if late:
            os.killpg(self.process, signal.SIGKILL)
        block = os.read(self.pipe, 1 << 20)
        self._said += block
        told = list(self._messages())
        if block and not late:
            return told, False
        os.close(self.pipe)
        _, status = os.waitpid(self.process, 0)
        if self.left:
            hung = late or (os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGXCPU)
            outcome = Outcome("HANG", "killed") if hung else Outcome("CRASH", f"status {status}")
            told.append(Tried(self.left.pop(0), "", outcome))
        return told, True

    def end(self) -> None:
        """Stop it, with all that it started."""
        os.killpg(self.process, signal.SIGKILL)
        os.waitpid(self.process, 0)
        os.close(self.pipe)

    def _messages(self) -> Iterator[Tried]:
        while len(self._said) >= 4:
            end = 4 + struct.unpack_from("<I", self._said)[0]
            if len(self._said) < end:
                return
            tried, self._said = pickle.loads(self._said[4:end]), self._said[end:]
            self.left.remove(tried.number)
            self.until = time.monotonic() + WAITED
            yield tried


def _alone(numbers: list[int], work: Work, pipe: int) -> None:
    """In the child: do it, say what came of it, and end without Python's own end."""
    code = 1
    try:
        os.setsid()
        os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        for number in numbers:
            end = int(_used() + LONGEST) + 3  # of computing, after which the system ends it
            resource.setrlimit(resource.RLIMIT_CPU, (end, resource.RLIM_INFINITY))
            said = pickle.dumps(_one(number, work))
            message = struct.pack("<I", len(said)) + said
            while message:
                message = message[os.write(pipe, message) :]
        code = 0
    except BaseException:
        traceback.print_exc()
        sys.stderr.flush()
    os._exit(code)


def _one(number: int, work: Work) -> Tried:
    before = _used()
    kind, outcome = work(number)
    taken = _used() - before
    peak = 1024.0 * max(resource.getrusage(who).ru_maxrss for who in _WHO)
    if taken > LONGEST:
        outcome = Outcome("HANG", f"{taken:.0f} s of computing")
    elif peak > LARGEST and outcome.how in FINE:
        outcome = Outcome("MEMORY", f"{peak / 1e6:.0f} MB")
    return Tried(number, kind, outcome, taken, peak)


_WHO = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)


def _used() -> float:
    """Computing of this process and of those that it started and that ended [s]."""
    used = [resource.getrusage(who) for who in _WHO]
    return sum(each.ru_utime + each.ru_stime for each in used)
