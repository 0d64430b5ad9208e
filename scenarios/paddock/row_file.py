"""One row of a pass as a scenario of its own: its ground and strength as a measured profile, the stones that it meets.

What the file cannot hold is the toolbar's ride, which in a paddock is carried by wheels on their own ground and in the
scenario by the ground of this row, and the soil on which the depth is set, which in a scenario is the row's own mean.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np

from scenarios.format.tables import ROOT
from scenarios.format.written import quoted, table_lines
from scenarios.ground.stones import Stone
from scenarios.paddock.paddock import Paddock
from scenarios.paddock.plan_stones import StoneField, row_stones
from scenarios.paddock.rows import Lanes
from scenarios.paddock.spec import StonePatch
from sim.unit import Settings

EVEN = 1e-6  # a strength that changes by a smaller share is even
SHORTEST, LOWEST = 0.03, -0.3  # the least of a placed stone [m]: shorter edges and deeper ones are left out


class RowFiles(NamedTuple):
    """The scenario file and the profile that it names, as texts."""

    scenario: str
    profile: str
    unlike: str  # what else is unlike the paddock, to be told behind how the toolbar rides; "" where nothing is


def row_files(paddock: Paddock, number: int, row: int, settings: Settings, profile_name: str) -> RowFiles:
    """The files of a row (pass and row from 0), with the settings to run it at."""
    lanes = Lanes(paddock, number)
    count = round(lanes.length / lanes.dx) + 1
    found = lanes.row_ground(0, count, [row])
    unlike = ""
    x, height, strength = lanes.dx * np.arange(count), found.ground[0], found.strength[0]
    if np.abs(strength - paddock.soil.strength).max() < EVEN * paddock.soil.strength:  # the soil's own says it all
        profile = "distance_m,height_m\n" + "".join(f"{a:.4f},{h:.6f}\n" for a, h in zip(x, height, strict=True))
    else:
        rows = zip(x, height, strength / 1e6, strict=True)
        mean, own = strength.mean() / 1e6, paddock.soil.strength / 1e6
        unlike = f", and the depth is set on this row's mean strength, {mean:.3g} MPa, in the paddock on {own:.3g} MPa"
        profile = "distance_m,height_m,strength_MPa\n" + "".join(f"{a:.4f},{h:.6f},{s:.6f}\n" for a, h, s in rows)
    return RowFiles("\n".join(_scenario(paddock, lanes, row, settings, profile_name, unlike)) + "\n", profile, unlike)


def _scenario(
    paddock: Paddock, lanes: Lanes, row: int, settings: Settings, profile_name: str, unlike: str
) -> Iterator[str]:
    y = float(lanes.places(np.zeros(1), lanes.rows[row : row + 1])[1][0])
    at = f"{lanes.length:g} - distance" if lanes.backwards else "distance"
    yield f"# Pass {lanes.number + 1}, row {row + 1} of {paddock.path.name}: distance is travel along the pass; in the"
    yield f"# paddock's plan x = {at}, y = {y:g} m. The toolbar rides here over this row's ground, in the paddock over"
    yield f"# that under its own wheels{unlike}: numbers differ."
    yield f"title = {quoted(f'{paddock.title}: pass {lanes.number + 1}, row {row + 1}')}"
    yield ""
    yield "[ground]"
    yield f"profile = {{ file = {quoted(profile_name)} }}"
    yield ""
    yield from table_lines(ROOT.tables["stones"].tables["contact"], "stones.contact", paddock.stones.contact)
    for stone in _stones(paddock, lanes, y):
        yield "[[stones.placed]]"
        yield f"at_m = {stone.at:.6f}\nlength_m = {stone.length:.6f}\ntop_mm = {stone.top * 1e3:.4f}"
    groups: dict[str, tuple[Any, ...]] = {
        "settings": (settings,), "soil": (paddock.soil, paddock.variation), "limits": (paddock.limits,),
        "unit": (paddock.unit,), "prior": (paddock.prior,),
    }  # fmt: skip
    yield f"[machine]\nrows = {paddock.machine.rows}\nrow_spacing_m = {paddock.machine.row_spacing:g}"
    pressures = ", ".join(f"{p / 1e5:.10g}" for p in paddock.search.pressures)
    speeds = ", ".join(f"{v * 3.6:.10g}" for v in paddock.search.speeds)
    yield f"[search]\npressures_bar = [{pressures}]\nspeeds_kmh = [{speeds}]\nseeds = 1"
    if paddock.uncertain is not None:  # the row's ground is measured: its roughness is no longer in doubt
        lost = [key for key in paddock.uncertain.keys if key.startswith("ground.")]
        told = paddock.uncertain.only([key for key in paddock.uncertain.keys if key not in lost])
        groups["uncertain"] = (told,)
    for name, held in groups.items():
        yield ""
        yield from table_lines(ROOT.tables[name], name, *held)


def _stones(paddock: Paddock, lanes: Lanes, y: float) -> Iterator[Stone]:
    """The stones that the row meets, by travel, as a scenario can hold them."""
    patches = tuple(f for f in paddock.ground.features if isinstance(f, StonePatch))
    met = [stone for stone, _ in row_stones(StoneField(paddock.stones, patches, paddock.seed), 0.0, lanes.length, y)]
    if lanes.backwards:
        met = [stone._replace(at=lanes.length - stone.at) for stone in reversed(met)]
    for stone in met:
        whole = stone.at - 0.5 * stone.length >= 0.0 and stone.at <= lanes.length
        if whole and stone.length >= SHORTEST and stone.top >= LOWEST:
            yield stone


def with_setting(paddock: Paddock, pressure: float | None, speed: float | None) -> Paddock:
    """The paddock with only the tried settings of a pressure [Pa] and a speed [m/s]; None: all."""
    search = paddock.search
    return replace(
        paddock,
        search=replace(
            search,
            pressures=search.pressures if pressure is None else (pressure,),
            speeds=search.speeds if speed is None else (speed,),
        ),
    )
