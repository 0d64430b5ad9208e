"""One pass as the bytes of its file: what threads, processes and cluster workers alike do."""

from __future__ import annotations

from collections.abc import Callable

from analysis.paddock.crossing import run_pass
from analysis.paddock.store_parts import to_bytes
from scenarios.paddock.paddock import Paddock


def compute_part(paddock: Paddock, number: int, print_: str, stop: Callable[[], bool] = lambda: False) -> bytes:
    """Pass `number` of a paddock whose fingerprint is `print_`; `stop` as `run_pass`. Raises Stopped."""
    return to_bytes(run_pass(paddock, number, stop), print_)
