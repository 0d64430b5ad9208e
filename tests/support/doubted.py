"""Scenarios in which few values are in doubt, and tables of what readings left so."""

from __future__ import annotations

import numpy as np

from scenarios.doubt.doubtful import DOUBTFUL, TIMES
from scenarios.doubt.prior import Prior
from scenarios.doubt.uncertain import Uncertain


def known_but(*names, **spreads):
    """A prior that leaves nothing in doubt but some values: by their usual ranges, or by those given by field."""
    usual = Prior()
    held = {
        one.field: getattr(usual, one.field) if one.name in names else (1.0 if one.way == TIMES else 0.0)
        for one in DOUBTFUL
    }
    return Prior(**{**held, **spreads})


def uncertain(*told, correlation=None, readings=0):
    """[uncertain] of (key, centre, spread) each, as its file would give them."""
    keys, centre, spread = zip(*told, strict=True) if told else ((), (), ())
    square = np.eye(len(keys)) if correlation is None else np.asarray(correlation, dtype=float)
    rows = tuple(tuple(row) for row in square.tolist())
    return Uncertain(keys=keys, centre=centre, spread=spread, correlation=rows, readings=readings)
