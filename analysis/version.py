"""Version of the installed program."""

from __future__ import annotations

from importlib.metadata import PackageNotFoundError, version


def _installed() -> str:
    try:
        return version("rowbench")
    except PackageNotFoundError:  # run from the sources without being installed
        return "unknown"


VERSION = _installed()
