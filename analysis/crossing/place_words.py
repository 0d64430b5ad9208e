"""Metres at one place, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from analysis.present.texts import number


def metres(length: float) -> str:
    """A length of row [m].

    >>> metres(1.42), metres(0.0)
    ('1.4 m', '0 m')
    """
    return f"{number(length)} m" if length > 0.0 else "0 m"


def places_text(d: Mapping[str, Any]) -> str:
    """How much of the row is off depth, and without gauge load, at the place with most of it.

    d: the document of a run (`crossing.summary.run_summary`).

    >>> places_text({"depth": {"off_depth_at_one_place_m": 3.44}, "gauge_load": {"wheel_off_at_one_place_m": 0.0}})
    'off depth for 3.4 m, gauge wheel off for 0 m'
    """
    off, free = d["depth"]["off_depth_at_one_place_m"], d["gauge_load"]["wheel_off_at_one_place_m"]
    return f"off depth for {metres(off)}, gauge wheel off for {metres(free)}"
