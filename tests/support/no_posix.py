"""Hides from this process what Windows does not have; import it before everything else.

Modules that only POSIX systems have cannot be imported, functions and flags of `os`, `signal` and `time` that Windows
lacks are gone, folders cannot be opened, processes are started anew (spawn). What Python's own library and the
packages took from there before, they keep: `sys.platform` stays, so they act as on this system.
"""

from __future__ import annotations

import os
import signal
import sys
import time
import warnings
from pathlib import Path


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


MODULES = _words("crypt curses fcntl grp nis ossaudiodev pty pwd readline resource spwd syslog termios tty")
# of os, what Python's documentation gives for Unix only (from memory; the type checker's stubs say the same: see
# `mypy --platform win32`); uname and statvfs stay, which Python's library and the compiler ask for on this system
FUNCTIONS = _words(
    """chown chroot confstr copy_file_range ctermid eventfd fchdir fchmod fchown fdatasync fork forkpty fpathconf
    fstatvfs getegid geteuid getgid getgrouplist getgroups getloadavg getpgid getpgrp getpriority getrandom getresgid
    getresuid getsid getuid getxattr initgroups killpg lchmod lchown listxattr lockf major makedev memfd_create minor
    mkfifo mknod nice openpty pathconf pidfd_open posix_fadvise posix_fallocate posix_spawn posix_spawnp pread preadv
    pwrite pwritev readv register_at_fork removexattr sched_getaffinity sched_setaffinity sched_yield sendfile setegid
    seteuid setgid setgroups setpgid setpriority setregid setresgid setresuid setreuid setsid setuid setxattr splice
    sync sysconf tcgetpgrp tcsetpgrp ttyname unshare wait wait3 wait4 waitid writev"""
)
FLAGS = _words(  # of os.open, what Windows has
    """O_APPEND O_BINARY O_CREAT O_EXCL O_NOINHERIT O_RANDOM O_RDONLY O_RDWR O_SEQUENTIAL O_SHORT_LIVED O_TEMPORARY
    O_TEXT O_TRUNC O_WRONLY"""
)
SIGNALS = _words("SIGABRT SIGFPE SIGILL SIGINT SIGSEGV SIGTERM")


class _Absent:
    """Finds none of them. First of all finders."""

    def find_spec(self, fullname, path=None, target=None):
        if fullname.partition(".")[0] in MODULES:
            raise ModuleNotFoundError(f"No module named {fullname!r} (hidden by the test)", name=fullname)


def hide() -> None:
    """Do it, for this process and the worker processes it starts by running its script anew."""
    for name in MODULES:
        sys.modules.pop(name, None)
    sys.meta_path.insert(0, _Absent())
    for name in list(vars(os)):
        if name in FUNCTIONS or (name.startswith("O_") and name not in FLAGS):
            delattr(os, name)
    for name in list(vars(signal)):
        if name.startswith("SIG") and name.isalpha() and name not in SIGNALS:
            delattr(signal, name)
    for name in ("tzset", "clock_getres", "pthread_getcpuclockid"):
        if hasattr(time, name):
            delattr(time, name)
    opens = os.open

    def no_folders(path, *more, **named):
        if not isinstance(path, int) and Path(os.fsdecode(path)).is_dir():
            raise PermissionError(13, "Permission denied", str(path))
        return opens(path, *more, **named)

    os.open = no_folders
    warnings.filterwarnings("ignore", "only soft file lock is available")  # without fcntl, on a system that has none
    import multiprocessing  # noqa: PLC0415 - it, too, looks at what os has

    multiprocessing.set_start_method("spawn", force=True)
