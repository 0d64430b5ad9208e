"""Readies the compiled model: tells whether it has to be compiled first, and does so on a few metres of flat ground."""

from __future__ import annotations

import os
import time
from pathlib import Path

USUAL_COMPILE_TIME = 15  # on two cores of a server of 2024; said in a message, nothing depends on it [s]


def is_compiled() -> bool:
    """Whether the cache holds machine code of the marching kernel for these sources; imports no compiler."""
    import sim  # noqa: F401, PLC0415 (sets the cache folder)

    folder = Path(os.environ.get("NUMBA_CACHE_DIR", ""))
    return folder.is_dir() and any(folder.rglob("march.*.nbc"))


def warm_up() -> float:
    """Compile the model, or fetch it from the cache → time taken [s]."""
    from sim.run import simulate  # noqa: PLC0415
    from sim.track import flat_track  # noqa: PLC0415
    from sim.unit import Settings, Soil, Unit  # noqa: PLC0415

    begin = time.perf_counter()
    soil = Soil()
    simulate(Unit(), soil, flat_track(1.0, soil.strength), Settings(speed=30.0 / 3.6))
    return time.perf_counter() - begin
