"""The places where the depth error is largest, each with what the ground, the wheel and the parts do there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.explain.parts import along, told_parts
from analysis.explain.wheel.load import LoadChange, Standing, standing
from analysis.explain.wheel.squash import Squash, squash_split
from analysis.present.edge import bar, mm
from analysis.present.unit_points import unit_points
from sim.mechanism.linkage import drift
from sim.record import Run
from sim.track import NO_STONE, Track
from sim.unit import ATMOSPHERE
from sim.worn import is_worn

MOST = 6  # places that are told
APART = 1.5  # least distance between two of them on the same side of the set depth [m]
LEAST = 0.0005  # a largest error below this is not worth a place [m]
SLOPE_OVER = 0.25  # half of the length over which the ground's slope is read [m]
BEND_OVER = 0.50  # half of the length over which a crest or a dip is read [m]
STEP_OVER = 1.0  # length over which a fall or a rise near by is read [m]
STEP_LEAST = 0.10  # a smaller one is not told [m]
STEP_REACH = (2.5, 4.0)  # how far behind and ahead of the disc it counts: up to the toolbar's front wheels [m]
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
    step: float = 0.0  # steepest rise (+) or fall (−) within STEP_OVER near by [m], 0: none
    step_at: float = 0.0  # its middle along the track [m]


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
    depth: float  # under the undisturbed surface, negative: the disc is over it [m]
    load: LoadChange | None  # why the wheel carries more or less than when set; None: it is off
    squash: Squash | None  # why tyre and soil give way more or less
    oil_pressure: float  # gauge [Pa]
    arm: float  # arm angle over the nominal one [rad]
    pitch: float  # [rad]
    play: float = 0.0  # of the linkage's part that of worn pins [m]

    def to_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "number": self.number,
            "at_m": self.at,
            "depth_error_mm": mm(self.error),
            "depth_mm": mm(self.depth),
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
            "gauge_load_change_N": None if self.load is None else self.load.by_cause(),
            "oil_pressure_bar": bar(self.oil_pressure),
            "squash_mm": None if self.squash is None else self.squash.to_dict(),
            "ground_step_mm": mm(self.ground.step),
            "ground_step_at_m": self.ground.step_at if self.ground.step else None,
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
    found: list[Place] = []
    set_so = standing(run)
    while len(found) < most:
        step = int(size.argmax())
        if size[step] < LEAST or (found and size[step] <= tolerance):
            break
        found.append(_place(set_so, len(found) + 1, step, x, error, tolerance))
        size[_told_with(found[-1], x, error)] = -1.0
    return tuple(found)


def place_at(run: Run, tolerance: float, at: float) -> Place:
    """What the depth does at a place along the track [m], at the step nearest to it; tolerance of the depth [m]."""
    x = along(run)
    error = run.series["depth"] - run.settings.set_depth
    return _place(standing(run), 1, int(np.abs(x - at).argmin()), x, error, tolerance)


def _told_with(place: Place, x: NDArray[np.float64], error: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Steps that are told with a place: its own stretch, and the same side of the set depth near by."""
    first, last = place.beyond or (place.at, place.at)
    near = (np.abs(x - place.at) < APART) & (error * place.error > 0.0)
    return np.asarray(near | ((x >= first) & (x <= last)))


def _place(
    set_so: Standing, number: int, step: int, x: NDArray[np.float64], error: NDArray[np.float64], tolerance: float
) -> Place:
    run, s = set_so.run, set_so.run.series
    off = bool(s["gauge_load"][step] <= 0.0)
    return Place(
        number=number,
        at=float(x[step]),
        step=step,
        error=float(error[step]),
        beyond=_beyond(x, error, step, tolerance),
        parts={name: float(part[step]) for name, part in told_parts(run).items()},
        ground=ground_there(run.track, float(s["distance"][step]), float(s["ground_shape"][step])),
        gauge_load=float(s["gauge_load"][step]),
        set_load=run.setting.gauge_load,
        off=off,
        gap=float(-s["lift_off"][step]),
        depth=float(s["depth"][step]),
        load=None if off else set_so.change(step),
        squash=squash_split(run, step, wheel_behind(run)),
        oil_pressure=float(s["oil_pressure"][step]) - ATMOSPHERE,
        arm=float(s["arm_angle"][step]) - run.unit.main_links.angle_nominal,
        play=_play(run, step),
        pitch=float(s["pitch"][step]),
    )


def _play(run: Run, step: int) -> float:
    """What the play of worn pins has of the linkage's part [m]."""
    if not is_worn(run.unit):
        return 0.0
    swung = drift(run.unit, run.setting.crank_angle, run.series["arm_angle"][step : step + 1])
    return float(run.series["linkage"][step] - swung[0])


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
    step, step_at = _step_near(track, x)
    near = (place >= x - STONE_REACH[0]) & (place <= x + STONE_REACH[1]) & (track.stone_top > NO_STONE)
    proud = np.where(near, track.stone_top - surface, 0.0)
    i = int(proud.argmax())
    if proud[i] < STONE_LEAST:
        return GroundThere(slope, bend, over_wheel, 0.0, 0.0, step, step_at)
    return GroundThere(slope, bend, over_wheel, float(proud[i]), x - float(place[i]), step, step_at)


def _step_near(track: Track, x: float) -> tuple[float, float]:
    """The steepest rise (+) or fall (−) over STEP_OVER about a place [m], and where its middle lies; 0, 0: none."""
    starts = np.arange(x - STEP_REACH[0], x + STEP_REACH[1] - STEP_OVER, 0.05)
    rise = np.interp(starts + STEP_OVER, track.x, track.ground) - np.interp(starts, track.x, track.ground)
    size = np.abs(rise)
    if size.max() < STEP_LEAST:
        return 0.0, 0.0
    best = np.flatnonzero(size >= size.max() - 1e-6)  # a drop is as high from a little before as from a little behind
    middle = float(starts[best].mean()) + 0.5 * STEP_OVER
    return float(rise[best[0]]), middle


def wheel_behind(run: Run) -> float:
    """How far the gauge wheel's axle runs behind the disc's hub at the depth setting [m]; negative: ahead."""
    points = unit_points(run.unit, run.setting.crank_angle, run.unit.main_links.angle_nominal, run.setting.press_angle)
    return points["disc_hub"][0] - points["gauge_axle"][0]
