"""Passes as the bytes of their files: what threads, processes and cluster workers alike do."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from analysis.paddock.passes.crossing import run_passes
from analysis.paddock.store_parts import to_bytes
from scenarios.paddock.paddock import Paddock


def compute_parts(
    paddock: Paddock, numbers: Sequence[int], print_: str, stop: Callable[[], bool] = lambda: False
) -> list[bytes]:
    """Passes of one length of a paddock whose fingerprint is `print_`; `stop` as `run_passes`. Raises Stopped."""
    return [to_bytes(result, print_) for result in run_passes(paddock, numbers, stop)]
