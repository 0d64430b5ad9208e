"""What turns the disc, and what holds it: the soil's torque against the drag of bearing and scraper.

The soil on edge and face turns the disc with at most T = μ(F_edge + N_f)R; the drag of bearing and scraper is
M = stickiness × drag_torque of the unit (stickiness 1: the drag as the file gives it, clean and dry; above 1: soil
that sticks to disc and scraper). The disc turns while T ≥ M; T/M is the margin. Forces are those of level motion by
the disc law of `sim.laws.disc`. Stickiness is no soil property that can be looked up: it is a factor to try. Of two
blades each turns on its own: T and M are those of one, forces those of both.

A disc of another radius R at the same depth h, strength and edge has the lever R and the chord c = √(2Rh − h²) of its
cutting arc, so that both the turning torque and the downforce to go in rise. The drag is held as a torque (a bearing,
a scraper near the hub); where it is all a scraper's force at the rim it rises with R as well, and of the larger disc's
torque only the longer arc is gained: `rim_margin`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.present.edge import kgf, mm
from scenarios.scenario import Scenario
from sim.arithmetic.bracket import zero_between
from sim.errors import LawError
from sim.ground_tables import ground_tables
from sim.hydraulics.cylinder import downforce
from sim.laws.contact import GroundColumns
from sim.laws.disc import disc_force
from sim.record import Run
from sim.unit import Soil, Unit

STICKINESS = (1.0, 3.0, 10.0)  # tried unless others are asked for
DRAWN = 41  # diameters that a line of a drawing goes through
DEEPEST = 0.8  # share of the radius up to which the disc law is used, as for the set depth


@dataclass(frozen=True)
class Drive:
    """One disc at one depth, strength and stickiness; SI units."""

    radius: float
    depth: float
    strength: float
    stickiness: float
    torque: float  # with which the soil can turn a blade [N m]
    drag: float  # on a blade [N m]
    vertical: float  # soil's upward force on all blades, without the boot [N]
    draught: float  # rearward, of all blades [N]
    chord: float  # of the cutting arc [m]

    @property
    def margin(self) -> float:
        """Torque over drag; inf without drag."""
        return self.torque / self.drag if self.drag > 0.0 else math.inf

    @property
    def turns(self) -> bool:
        """The disc turns, by the rule of a run."""
        return self.torque >= self.drag

    @property
    def arc(self) -> float:
        """Length of the cutting arc, from the bottom forward to the surface [m]."""
        return self.radius * math.acos(1.0 - self.depth / self.radius)

    def to_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "diameter_mm": mm(2.0 * self.radius),
            "depth_mm": mm(self.depth),
            "strength_MPa": self.strength / 1e6,
            "stickiness": self.stickiness,
            "torque_Nm": self.torque,
            "drag_Nm": self.drag,
            "margin": self.margin if math.isfinite(self.margin) else None,
            "turns": self.turns,
            "vertical_N": self.vertical,
            "draught_N": self.draught,
            "chord_mm": mm(self.chord),
            "arc_mm": mm(self.arc),
        }


def drive(unit: Unit, soil: Soil, speed: float, depth: float, stickiness: float = 1.0) -> Drive:
    """The disc of a unit in a soil at a speed [m/s] and depth [m]. Raises LawError for a depth beyond the law."""
    disc = unit.disc
    if not 0.0 < depth <= DEEPEST * disc.radius * (1.0 + 1e-12):
        raise LawError(
            f"depth {mm(depth):g} mm given; above 0 up to {DEEPEST:g} of the radius, {mm(DEEPEST * disc.radius):g} mm"
        )
    f_x, f_z, edge, face, _ = disc_force(
        depth, speed, 0.0, soil.strength, 1.0 + soil.speed_factor * speed * 3.6, disc.edge_width, disc.radius,
        disc.face_factor, disc.face_friction, math.sin(disc.tilt), math.cos(disc.tilt), math.sin(disc.sweep),
        math.cos(disc.sweep),
    )  # fmt: skip
    return Drive(
        radius=disc.radius,
        depth=depth,
        strength=soil.strength,
        stickiness=stickiness,
        torque=disc.face_friction * (edge + face) * disc.radius,
        drag=stickiness * disc.drag_torque,
        vertical=disc.blades * f_z,
        draught=-disc.blades * f_x,
        chord=math.sqrt(depth * (2.0 * disc.radius - depth)),
    )


def with_radius(unit: Unit, radius: float) -> Unit:
    """The unit with a disc of another radius [m]."""
    return replace(unit, disc=replace(unit.disc, radius=radius))


def stall_depth(unit: Unit, soil: Soil, speed: float, stickiness: float = 1.0) -> float | None:
    """Depth [m] under which the drag holds the disc; 0: it turns at any depth; None: at none that the law reaches."""

    def over(depth: float) -> float:
        found = drive(unit, soil, speed, depth, stickiness)
        return found.torque - found.drag

    low, high = 1e-6, DEEPEST * unit.disc.radius
    if over(low) >= 0.0:
        return 0.0
    return None if over(high) < 0.0 else zero_between(over, low, high)


@dataclass(frozen=True)
class Along:
    """The disc along one crossing: shares of the way, margins over the file's drag."""

    margin_low: float  # margin that is undercut on a twentieth of the way in soil
    stalled: float  # share of the way on which the drag holds the disc, or it is out of the soil
    clear: float  # share of the way on which the disc is out of the soil


def along(run: Run) -> Along:
    """Margins of a run, from the disc's own forces at every step (without drag: inf)."""
    disc = run.unit.disc
    face = _face_force(run)
    edge = run.series["disc_vertical"] / disc.blades - face * math.sin(disc.tilt) * math.cos(disc.sweep)
    torque = disc.face_friction * (edge + face) * disc.radius
    dug = run.series["depth"] > 0.0
    with np.errstate(over="ignore"):  # next to no drag is none: inf
        margin = torque / disc.drag_torque if disc.drag_torque > 0.0 else np.full(torque.size, np.inf)
    low = float(np.quantile(margin[dug], 0.05, method="lower")) if dug.any() else 0.0
    held = (run.series["disc_slip"] > 0.0) | ~dug
    return Along(low, float(np.mean(held)), float(np.mean(~dug)))


def _face_force(run: Run) -> NDArray[np.float64]:
    """Normal force on the face of one blade at every step, (n,) [N]: N_f = k_f q f_v (2/3) c h of `sim.laws.disc`.

    From the ground, because two blades leave no side load that would tell it.
    """
    disc, settings = run.unit.disc, run.settings
    laid = ground_tables(run.unit, run.track, settings.set_depth)
    ground, x = GroundColumns(*laid.table), laid.x0 + laid.dx * np.arange(laid.table.shape[1])
    rise = np.interp(run.series["distance"], x, ground.ahead - ground.surface)
    depth = np.clip(run.series["depth"] + rise, 0.0, disc.radius)
    strength = np.maximum(np.interp(run.series["distance"], x, ground.strength), 0.0)
    speed_term = 1.0 + run.soil.speed_factor * settings.speed * 3.6
    chord = np.sqrt(depth * (2.0 * disc.radius - depth))
    force: NDArray[np.float64] = disc.face_factor * strength * speed_term * (2.0 / 3.0) * chord * depth
    return force


@dataclass(frozen=True)
class Larger:
    """A disc of another diameter beside the unit's own, same depth, strength and stickiness."""

    own: Drive
    other: Drive
    downforce_per_pressure: float  # downforce of the unit per oil pressure [N/Pa]

    @property
    def lever(self) -> float:
        """Radius over the own radius."""
        return self.other.radius / self.own.radius

    @property
    def gain(self) -> float:
        """Turning torque over the own disc's: what the margin grows by while the drag is the same torque."""
        return self.other.torque / self.own.torque

    @property
    def rim_margin(self) -> float:
        """Margin where the drag is a scraper's force at the rim."""
        return self.other.margin / self.lever

    @property
    def arc_gain(self) -> float:
        """Cutting arc over the own disc's."""
        return self.other.arc / self.own.arc

    @property
    def force(self) -> float:
        """Downforce that it takes more to go in [N]."""
        return self.other.vertical - self.own.vertical

    @property
    def pressure(self) -> float:
        """Oil pressure that it takes more to go in [Pa]."""
        return self.force / self.downforce_per_pressure

    def to_dict(self) -> dict[str, Any]:
        """JSON form."""
        rim = self.rim_margin
        return {
            **self.other.to_dict(),
            "lever_ratio": self.lever,
            "torque_ratio": self.gain,
            "arc_ratio": self.arc_gain,
            "margin_with_drag_at_rim": rim if math.isfinite(rim) else None,
            "more_downforce_kgf": kgf(self.force),
            "more_oil_pressure_bar": self.pressure / 1e5,
        }


@dataclass(frozen=True)
class DiscDrive:
    """Tables of one scenario's disc; every list in rising order."""

    scenario: Scenario
    own: Drive  # at the file's set depth and mean strength, stickiness 1
    stickiness: tuple[float, ...]
    by_depth: tuple[tuple[Drive, ...], ...]  # [depth][stickiness]
    by_strength: tuple[tuple[Drive, ...], ...]  # [strength][stickiness]
    by_diameter: tuple[tuple[Larger, ...], ...]  # [diameter][stickiness]
    stall_depths: tuple[float | None, ...]  # by stickiness
    along: Along | None  # None: the crossing could not be made, `reason` says why
    reason: str = ""

    @property
    def stall_strength(self) -> float:
        """Strength [Pa] under which the file's drag holds the disc at the set depth: the torque rises with it."""
        return self.own.strength / self.own.margin

    @property
    def reach(self) -> tuple[float, float]:
        """Diameters that a drawing shows [m]: those of the table and a tenth around the own one, none too small."""
        own = 2.0 * self.own.radius
        shown = [row[0].other.radius * 2.0 for row in self.by_diameter]
        low = max(min(*shown, 0.9 * own), least_diameter(self.scenario))
        return low, max(*shown, 1.1 * own)

    @cached_property
    def dense(self) -> tuple[tuple[Larger, ...], ...]:
        """As `by_diameter`, over DRAWN diameters, close enough to draw lines through."""
        fine = [float(d) for d in np.linspace(*self.reach, DRAWN)]
        return disc_drive(self.scenario, None, diameters=fine, stickiness=self.stickiness).by_diameter

    def to_dict(self) -> dict[str, Any]:
        """JSON form."""
        a = self.along
        return {
            "scenario": self.scenario.name,
            "blades": self.scenario.unit.disc.blades,
            "own": self.own.to_dict(),
            "stickiness": list(self.stickiness),
            "by_depth": [[one.to_dict() for one in row] for row in self.by_depth],
            "by_strength": [[one.to_dict() for one in row] for row in self.by_strength],
            "by_diameter": [[one.to_dict() for one in row] for row in self.by_diameter],
            "stall_depth_mm": [None if depth is None else mm(depth) for depth in self.stall_depths],
            "stall_strength_MPa": self.stall_strength / 1e6,
            "along": None if a is None else {
                "margin_undercut_on_5_percent": a.margin_low if math.isfinite(a.margin_low) else None,
                "not_turned_share": a.stalled,
                "out_of_soil_share": a.clear,
            },
            "reason": self.reason or None,
        }  # fmt: skip


def disc_drive(
    scenario: Scenario,
    run: Run | None,
    depths: Sequence[float] | None = None,
    strengths: Sequence[float] | None = None,
    diameters: Sequence[float] | None = None,
    stickiness: Sequence[float] = STICKINESS,
    reason: str = "",
) -> DiscDrive:
    """Tables around a scenario's own disc; depths [m], strengths [Pa], diameters [m], None: spread around its own.

    run: a crossing of the scenario (None: left out, for the reason given). Raises ValueError for a depth beyond the
    disc law of a disc.
    """
    unit, soil, s = scenario.unit, scenario.soil, scenario.settings
    sticky = tuple(sorted(set(stickiness)))
    per_pressure = downforce(unit, 1.0)

    def row(unit: Unit, soil: Soil, depth: float) -> tuple[Drive, ...]:
        return tuple(drive(unit, soil, s.speed, depth, factor) for factor in sticky)

    base = row(unit, soil, s.set_depth)

    def larger(d: float) -> tuple[Larger, ...]:
        others = row(with_radius(unit, 0.5 * d), soil, s.set_depth)
        return tuple(Larger(one, other, per_pressure) for one, other in zip(base, others, strict=True))

    return DiscDrive(
        scenario=scenario,
        own=drive(unit, soil, s.speed, s.set_depth),
        stickiness=sticky,
        by_depth=tuple(row(unit, soil, depth) for depth in depths or depths_around(scenario)),
        by_strength=tuple(
            row(unit, replace(soil, strength=q), s.set_depth) for q in strengths or strengths_around(scenario)
        ),
        by_diameter=tuple(larger(d) for d in diameters or diameters_around(scenario)),
        stall_depths=tuple(stall_depth(unit, soil, s.speed, factor) for factor in sticky),
        along=None if run is None else along(run),
        reason=reason,
    )


def depths_around(scenario: Scenario) -> tuple[float, ...]:
    """Half, the whole and one and a half of the set depth, no deeper than the disc law [m]."""
    deepest = DEEPEST * scenario.unit.disc.radius
    return tuple(sorted({min(f * scenario.settings.set_depth, deepest) for f in (0.5, 1.0, 1.5)}))


def strengths_around(scenario: Scenario) -> tuple[float, ...]:
    """A quarter, half, the whole and one and a half of the mean strength [Pa]."""
    return tuple(f * scenario.soil.strength for f in (0.25, 0.5, 1.0, 1.5))


def diameters_around(scenario: Scenario) -> tuple[float, ...]:
    """Eight tenths to one and three tenths of the disc's diameter, its own among them; none too small [m]."""
    own, least = 2.0 * scenario.unit.disc.radius, least_diameter(scenario)
    return tuple(d for f in (0.8, 0.9, 1.0, 1.1, 1.2, 1.3) if (d := f * own) >= least)


def least_diameter(scenario: Scenario) -> float:
    """The smallest disc that the disc law takes at the set depth [m]."""
    return 2.0 * scenario.settings.set_depth / DEEPEST
