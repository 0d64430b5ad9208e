"""March a stored case without compilation: run by `test_plain_python.py` in a process with NUMBA_DISABLE_JIT=1."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from numba import config

from sim.laws.gas import GasLaw
from sim.march import loop as kernel
from sim.mechanism.kinematics import State
from sim.model import Model

if __name__ == "__main__":
    assert config.DISABLE_JIT
    given, out = np.load(sys.argv[1]), Path(sys.argv[2])
    m, law, y = Model(*given["model"].tolist()), GasLaw(*given["law"].tolist()), State(*given["state"].tolist())
    n = int(given["steps"])
    series, pins = np.zeros(n * kernel.N_CHANNELS), np.zeros(n * kernel.N_PINS)
    checks = np.zeros(n * kernel.N_CHECKS)
    sums, info = np.zeros(kernel.N_SUMS), np.zeros(kernel.N_INFO)
    z_bar, x_start, step, x0, inv, low, high = given["numbers"].tolist()
    status = kernel.march(
        m, law, given["table"], given["stone"], x0, inv, given["path"], z_bar, x_start, step, low, high, y, series,
        pins, checks, sums, info,
    )  # fmt: skip
    np.savez(out, series=series, pins=pins, checks=checks, sums=sums, info=info, status=status)
