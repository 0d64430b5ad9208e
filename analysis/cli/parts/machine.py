"""Faults of the machine, told like those of the input, and being ended from outside, which is as good as Ctrl-C."""

from __future__ import annotations

import errno
import os
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from scenarios.format.errors import fault

_HANDLES = ("more files open at once than the system allows", "a limit that leaves room for some 50 files",
            "ulimit -n 1024, or end what holds many open")  # fmt: skip
_DISK = ("the disk cannot be written", "a disk with room that can be written", "make room, then the same command again")
_MEMORY = ("memory ran out", "as much as the command needs",
           "shorter ground, fewer settings or grounds, fewer --workers, or end what else runs")  # fmt: skip
_THREADS = ("no more threads or processes can be started", "a limit that leaves room for some",
            "fewer --workers, or end what else runs")  # fmt: skip
# what the system says when the machine, not the program or its input, is at fault
KNOWN = {
    **dict.fromkeys((errno.EMFILE, errno.ENFILE), _HANDLES),
    **dict.fromkeys((errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EROFS, errno.EIO), _DISK),
    **dict.fromkeys((errno.ENOMEM,), _MEMORY),
    **dict.fromkeys((errno.EAGAIN,), _THREADS),
}


def machine_fault(error: BaseException) -> str | None:
    """A fault of the machine as a fault in words; None for whatever may be a mistake of the program."""
    if isinstance(error, MemoryError):
        return fault("memory", *_MEMORY)
    if isinstance(error, RuntimeError) and "start new thread" in str(error):
        return fault("threads", *_THREADS)
    number = error.errno if isinstance(error, OSError) else None
    if number not in KNOWN:
        return None
    given, allowed, hint = KNOWN[number]
    where = str(getattr(error, "filename", None) or "the system")
    return fault(where, f"{given} ({os.strerror(number)})", allowed, hint)


class Ended(KeyboardInterrupt):
    """Ended from outside by a signal; `code`: exit code that tells by which."""

    def __init__(self, number: int) -> None:
        super().__init__()
        self.code = 128 + number


@contextmanager
def ends_in_order() -> Iterator[None]:
    """While this lasts, being ended (or losing the terminal) is told like Ctrl-C: what is begun is cleared away.

    Only where nobody has settled that otherwise, and in the main thread, the only one that is told of signals.
    """
    before: dict[int, Any] = {}

    def end(number: int, frame: object) -> None:
        raise Ended(number)

    if threading.current_thread() is threading.main_thread():
        for name in ("SIGTERM", "SIGHUP"):
            number = getattr(signal, name, None)  # Windows has no SIGHUP
            if number is not None and signal.getsignal(number) is signal.SIG_DFL:
                before[number] = signal.signal(number, end)
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
