"""The places where the depth error is largest, each with what the ground, the wheel and the parts do there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.explain.parts import along, told_parts, wheel_off
from analysis.present.edge import mm
from analysis.present.unit_points import unit_points
from sim.record import Run
from sim.track import NO_STONE, Track

MOST = 6  # places that are told
APART = 1.5  # least distance between two of them on the same side of the set depth [m]
LEAST = 0.0005  # a largest error below this is not worth a place [m]
SLOPE_OVER = 0.25  # half of the length over which the ground's slope is read [m]
BEND_OVER = 0.50  # half of the length over which a crest or a dip is read [m]
STONE_REACH = (0.60, 0.05)  # how far behind and ahead of the disc a stone counts as met [m]
STONE_LEAST = 0.001  # a stone less proud than this is not told [m]


@dataclass(frozen=True)
class GroundThere:
    """The ground around the disc's lowest point."""

    slope: float  # rise per travel, positive = climbs [1]
    bend: float  # height over the mean of the ground 0.5 m ahead and behind [m]: positive = crest, negative = dip
    over_wheel: float  # ground under the disc − ground that the gauge wheel rides on [m] (= the part "ground shape")
    stone: float  # height over the soil of the highest stone under the disc or just behind it [m], 0: none
    stone_behind: float  # how far its highest point lies behind the disc [m], 0: none


@dataclass(frozen=True)
class Place:
    """One place of large depth error; positions along the track [m]."""

    number: int
    at: float
    step: int
    error: float  # depth − set depth [m]
    beyond: tuple[float, float] | None  # from where to where it is beyond the tolerance around it; None: within it
    parts: dict[str, float]  # as told: squash counts with lift-off while the wheel is off [m]
    ground: GroundThere
    gauge_load: float  # [N]
    set_load: float  # gauge load at the depth setting [N]
    off: bool
    gap: float  # clearance under the gauge wheel [m]
    arm: float  # arm angle over the nominal one [rad]
    pitch: float  # [rad]

    def to_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "number": self.number,
            "at_m": self.at,
            "depth_error_mm": mm(self.error),
            "beyond_tolerance_from_m": None if self.beyond is None else self.beyond[0],
            "beyond_tolerance_to_m": None if self.beyond is None else self.beyond[1],
            "parts_mm": {name: mm(part) for name, part in self.parts.items()},
            "ground_slope": self.ground.slope,
            "ground_bend_mm": mm(self.ground.bend),
            "ground_disc_over_wheel_mm": mm(self.ground.over_wheel),
            "stone_mm": mm(self.ground.stone),
            "stone_behind_m": self.ground.stone_behind,
            "gauge_load_N": self.gauge_load,
            "gauge_load_at_setting_N": self.set_load,
            "wheel_off": self.off,
            "gap_mm": mm(self.gap),
        }


def worst_places(run: Run, tolerance: float, first: float, last: float, most: int = MOST) -> tuple[Place, ...]:
    """The largest depth errors between two distances [m], largest first, at least APART from others on their side.

    Those beyond the `tolerance` [m] are told; where there is none, the single largest one.
    """
    x = along(run)
    error = run.series["depth"] - run.settings.set_depth
    size = np.where((x >= first) & (x <= last), np.abs(error), -1.0)
    parts = told_parts(run)
    found: list[Place] = []
    while len(found) < most:
        step = int(size.argmax())
        if size[step] < LEAST or (found and size[step] <= tolerance):
            break
        found.append(_place(run, len(found) + 1, step, x, error, tolerance, parts))
        size[_told_with(found[-1], x, error)] = -1.0
    return tuple(found)


def _told_with(place: Place, x: NDArray[np.float64], error: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Steps that are told with a place: its own stretch, and the same side of the set depth near by."""
    first, last = place.beyond or (place.at, place.at)
    near = (np.abs(x - place.at) < APART) & (error * place.error > 0.0)
    return np.asarray(near | ((x >= first) & (x <= last)))


def _place(
    run: Run, number: int, step: int, x: NDArray[np.float64], error: NDArray[np.float64], tolerance: float,
    parts: dict[str, NDArray[np.float64]],
) -> Place:  # fmt: skip
    s = run.series
    return Place(
        number=number,
        at=float(x[step]),
        step=step,
        error=float(error[step]),
        beyond=_beyond(x, error, step, tolerance),
        parts={name: float(part[step]) for name, part in parts.items()},
        ground=ground_there(run.track, float(s["distance"][step]), float(s["ground_shape"][step])),
        gauge_load=float(s["gauge_load"][step]),
        set_load=run.setting.gauge_load,
        off=bool(wheel_off(run)[step]),
        gap=float(-s["lift_off"][step]),
        arm=float(s["arm_angle"][step]) - run.unit.main_links.angle_nominal,
        pitch=float(s["pitch"][step]),
    )


def _beyond(
    x: NDArray[np.float64], error: NDArray[np.float64], step: int, tolerance: float
) -> tuple[float, float] | None:
    """Ends of the unbroken stretch around a step in which the error is beyond the tolerance on the same side."""
    side = np.sign(error[step])
    inside = error * side <= tolerance
    if inside[step]:
        return None
    before, after = np.flatnonzero(inside[:step]), np.flatnonzero(inside[step:])
    start = int(before[-1]) + 1 if before.size else 0
    end = step + int(after[0]) - 1 if after.size else x.size - 1
    return float(x[start]), float(x[end])


def ground_there(track: Track, x: float, over_wheel: float) -> GroundThere:
    """Slope, crest or dip, and stone at a ground position [m]; over_wheel: the part "ground shape" there [m]."""
    place, surface = track.x, track.ground

    def height(at: float) -> float:
        return float(np.interp(at, place, surface))

    slope = (height(x + SLOPE_OVER) - height(x - SLOPE_OVER)) / (2.0 * SLOPE_OVER)
    bend = height(x) - 0.5 * (height(x + BEND_OVER) + height(x - BEND_OVER))
    near = (place >= x - STONE_REACH[0]) & (place <= x + STONE_REACH[1]) & (track.stone_top > NO_STONE)
    proud = np.where(near, track.stone_top - surface, 0.0)
    i = int(proud.argmax())
    if proud[i] < STONE_LEAST:
        return GroundThere(slope, bend, over_wheel, 0.0, 0.0)
    return GroundThere(slope, bend, over_wheel, float(proud[i]), x - float(place[i]))


def wheel_behind(run: Run) -> float:
    """How far the gauge wheel's axle runs behind the disc's hub at the depth setting [m]; negative: ahead."""
    points = unit_points(run.unit, run.setting.crank_angle, run.unit.main_links.angle_nominal, run.setting.press_angle)
    return points["disc_hub"][0] - points["gauge_axle"][0]
