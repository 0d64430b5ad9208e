"""A disk that is soon full, for the tests."""

from __future__ import annotations

import signal
import subprocess
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def small_disk(folder: Path, size: int, *options: str):
    """A disk of its own on `folder`, so many bytes large; where none can be mounted, files are held to that size."""
    folder.mkdir(exist_ok=True)
    command = ["mount", "-t", "tmpfs", "-o", ",".join([f"size={size}", *options]), "tmpfs", str(folder)]
    mounted = subprocess.run(command, capture_output=True, check=False).returncode == 0
    if mounted:
        try:
            yield lambda: subprocess.run(["mount", "-o", "remount,size=50m", str(folder)], check=True)
        finally:
            subprocess.run(["umount", str(folder)], check=True)
        return
    import resource  # noqa: PLC0415

    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    handler = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size // 4, before[1]))
    try:
        yield lambda: resource.setrlimit(resource.RLIMIT_FSIZE, before)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
        signal.signal(signal.SIGXFSZ, handler)
