"""Balance of the whole unit out of its plane at every step: what each pin carries as a couple and as a side force.

Taken part by part from the ground to the toolbar: gauge arm and press arm each pass the offset of their wheel to the
carrier as a couple of their pivot; the carrier passes all to the rear pins of the main links, which share side force
and couples by `unit.pins.upper_share`; each link passes its own on to its front pin, with the side force times its
length. Stated assumptions: middles of the main pins' bushes lie in the plane of the main links; the carrier's centre of
mass too; those of gauge arm and press arm lie in their wheel's plane; crank, rod, bell crank, turnbuckle and actuator
lie in one plane of their own, so that their pins carry no couple; no side force at the wheels (none is held from
drifting by them), all of it goes to the toolbar; spinning wheels add nothing. On a side slope every part's weight has
its share down the slope.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from analysis.pins.bush.beside import Vector, carried_by_disc, disc_load, pin_force, side_of, sideways, turning
from analysis.pins.bush.beside_loop import carrier_moments
from analysis.pins.duty.rotation import standing
from analysis.pins.duty.stand_loop import PARTS
from sim.record import PINS, Run
from sim.unit import GRAVITY

COUPLED = (
    "main_upper_front", "main_upper_rear", "main_lower_front", "main_lower_rear", "gauge_arm", "press_arm",
)  # fmt: skip
"""Pins that carry couples; those of the cylinder and of the depth linkage lie in the plane of what they join."""
ARMS = ("gauge_arm", "press_arm")
PASSED = ("gauge_arm", "turnbuckle_rear", "bell_crank", "press_arm")  # pins that the carrier's couples hang on


@dataclass(frozen=True)
class Couples:
    """Of the first-named part on the second: couples about the fore-aft and the vertical axis, and side forces.

    couple: by pin (2, n) [N m], about the middle between its bushes; side: by pin (n,) [N], to the left positive.
    """

    couple: dict[str, Vector]
    side: dict[str, Vector]


@dataclass(frozen=True)
class Slope:
    """Share of every part's weight down a side slope [N], to the left positive, and where it acts from its pivot."""

    carrier: float = 0.0
    linkage: float = 0.0  # bell crank, turnbuckle and half the rod, at the bell crank's pivot
    link: float = 0.0
    gauge: float = 0.0
    press: float = 0.0
    gauge_at: tuple[float | Vector, float | Vector] = (0.0, 0.0)
    press_at: tuple[float | Vector, float | Vector] = (0.0, 0.0)


def slope_of(run: Run, angle: float) -> Slope:
    """Weights on a side slope [rad], downhill to the left positive."""
    if angle == 0.0:
        return Slope()
    unit, pull = run.unit, GRAVITY * math.sin(angle)
    link = unit.depth_linkage
    line = standing(run).lines
    arm, press = (line[:, PARTS.index(name)] for name in ("gauge_arm", "press_arm"))
    arm, press = unit.gauge_wheel.arm_centre * arm, unit.press_wheel.arm_centre * press
    return Slope(
        carrier=unit.carrier.mass * pull,
        linkage=(link.bell_mass + link.turnbuckle_mass + 0.5 * link.rod_mass) * pull,
        link=unit.main_links.mass * pull,
        gauge=unit.gauge_wheel.arm_mass * pull,
        press=unit.press_wheel.arm_mass * pull,
        gauge_at=(arm.real, arm.imag),
        press_at=(press.real, press.imag),
    )


@dataclass(frozen=True)
class Balance:
    """What the main links have to hold at every step, whoever of them holds it."""

    force: Vector  # side force on the carrier, (n,) [N]
    moment: Vector  # couple on it about the lower link's rear pin, (2, n) [N m]
    arms: Couples  # of gauge arm and press arm
    slope: Slope
    to_front: tuple[Vector, Vector]  # of both links, rear from front pin, (n,) each [m]


def balance(run: Run, side_slope: float = 0.0) -> Balance:
    """Side force and couples from all that is not a main link; side_slope [rad]: downhill to the left positive."""
    slope, arm = slope_of(run, side_slope), run.series["arm_angle"]
    side, unit, (disc, rear) = side_of(run), run.unit, carried_by_disc(run)
    moment, pivots = np.empty((2, arm.size)), np.empty((2, 2, arm.size))
    gauge, press = unit.gauge_wheel, unit.press_wheel
    carrier_moments(
        run.pins.reshape(-1), len(PINS), *(PINS.index(name) for name in PASSED), disc.reshape(-1),
        unit.disc.lateral, gauge.lateral, unit.depth_linkage.lateral, press.lateral, side.force, side.x, side.z,
        *side.drag.tolist(), side.cuts, gauge.arm_lateral, press.arm_lateral, moment.reshape(-1), pivots.reshape(-1),
    )  # fmt: skip
    arms, none = dict(zip(ARMS, pivots, strict=True)), np.zeros(arm.size)
    force, sides = side.force, dict.fromkeys(ARMS, none)
    if side_slope:
        force = force + _weights(run, slope, moment, arms)
        sides = {"gauge_arm": none - slope.gauge, "press_arm": none - slope.press}
    return Balance(force, moment, Couples(arms, sides), slope, (rear[0], rear[1]))


def _weights(run: Run, slope: Slope, moment: Vector, arms: dict[str, Vector]) -> float:
    """Add what all weights do down a side slope to the carrier's and the arms' couples → their side force [N]."""
    unit, spacing = run.unit, run.unit.main_links.spacing
    for name, weight, at, (x, z) in (
        ("gauge_arm", slope.gauge, slope.gauge_at, unit.gauge_wheel.arm_pivot),
        ("press_arm", slope.press, slope.press_at, unit.press_wheel.pivot),
    ):
        pull = np.full(moment.shape[1], weight)
        arms[name] = arms[name] - sideways(pull, *at)
        moment += sideways(pull, *at) + sideways(pull, x, z + spacing)
    for weight, (x, z) in ((slope.carrier, unit.carrier.centre), (slope.linkage, unit.depth_linkage.bell_pivot)):
        moment += np.array([[-(z + spacing) * weight], [x * weight]])
    return slope.carrier + slope.linkage + slope.gauge + slope.press


def couples(run: Run, upper_share: float | None = None, side_slope: float = 0.0) -> Couples:
    """Couples and side forces of `COUPLED` over a run.

    upper_share: in place of the unit's own; side_slope [rad]: of the ground, downhill to the left positive.
    """
    return share_out(run, balance(run, side_slope), upper_share)


def share_out(run: Run, held: Balance, upper_share: float | None = None) -> Couples:
    """What each pin of the main links takes of a balance; upper_share: in place of the unit's own.

    Step by step what `bush_loop` does in its sums.
    """
    share = run.unit.pins.upper_share if upper_share is None else upper_share
    spacing = run.unit.main_links.spacing
    # both rear pins hold the side force; that of the upper one, `spacing` over the lower, turns about x too
    couple, force = -held.moment, held.force
    couple[0] -= spacing * share * force
    found, sides = dict(held.arms.couple), dict(held.arms.side)
    for name, part in (("upper", share), ("lower", 1.0 - share)):
        rear, side = part * couple, -part * force
        found[f"main_{name}_rear"], sides[f"main_{name}_rear"] = rear, side
        front = _front(run, rear, side, held, lower=name == "lower")
        found[f"main_{name}_front"], sides[f"main_{name}_front"] = front
    return Couples({name: found[name] for name in COUPLED}, {name: sides[name] for name in COUPLED})


def _front(run: Run, couple: Vector, side: Vector, held: Balance, *, lower: bool) -> tuple[Vector, Vector]:
    """What the toolbar does to a link's front pin: couple and side force."""
    (x, z) = held.to_front
    found, weight = couple + sideways(side, x, z), held.slope.link
    if weight:
        found -= sideways(np.full(x.size, weight), 0.5 * x, 0.5 * z)
    if lower and run.unit.cylinder.lateral:
        found -= turning(run.unit.cylinder.lateral, pin_force(run, "cylinder_arm"))
    return found, side - weight


def left_over(run: Run, found: Couples, side_slope: float = 0.0) -> Vector:
    """What is left over of the balance of the whole unit, (3, n): side force [N], couples about x and z through the
    lower link's front pin [N m].

    By another way than `couples` takes: outer loads and the toolbar's pins alone, no inner pin. In plane the balance is
    the march's own check (`Run.pin_residuals`).
    """
    unit, spacing, slope = run.unit, run.unit.main_links.spacing, slope_of(run, side_slope)
    arm = run.series["arm_angle"]
    x = -unit.main_links.length * np.cos(arm)  # the lower link's rear pin
    z = unit.main_links.length * np.sin(arm)
    side, ones = side_of(run), np.ones(arm.size)
    gauge, press = pin_force(run, "gauge_arm"), pin_force(run, "press_arm")
    lug, bell = pin_force(run, "turnbuckle_rear"), pin_force(run, "bell_crank")
    pull = [
        (side.force, x + side.x, z + side.z),
        (slope.carrier * ones, x + unit.carrier.centre[0], z + spacing + unit.carrier.centre[1]),
        (slope.linkage * ones, x + unit.depth_linkage.bell_pivot[0], z + spacing + unit.depth_linkage.bell_pivot[1]),
        (2.0 * slope.link * ones, 0.5 * x, 0.5 * (z + spacing)),
        (slope.gauge * ones, x + unit.gauge_wheel.arm_pivot[0] + slope.gauge_at[0],
         z + spacing + unit.gauge_wheel.arm_pivot[1] + slope.gauge_at[1]),
        (slope.press * ones, x + unit.press_wheel.pivot[0] + slope.press_at[0],
         z + spacing + unit.press_wheel.pivot[1] + slope.press_at[1]),
        (found.side["main_lower_front"], 0.0 * ones, 0.0 * ones),
        (found.side["main_upper_front"], 0.0 * ones, spacing * ones),
    ]  # fmt: skip
    turned = np.outer(side.drag, side.cuts > 0.0) + found.couple["main_lower_front"] + found.couple["main_upper_front"]
    turned = turned + turning(unit.disc.lateral, disc_load(run)) - turning(unit.gauge_wheel.lateral, gauge + lug)
    # of the depth linkage's plane: toolbar's forces less inertia are −(what bell crank and turnbuckle pass on)
    turned += turning(unit.depth_linkage.lateral, lug - bell) - turning(unit.press_wheel.lateral, press)
    turned += turning(unit.cylinder.lateral, pin_force(run, "cylinder_frame"))
    for force, at_x, at_z in pull:
        turned = turned + sideways(force, at_x, at_z)
    return np.stack([sum(force for force, _, _ in pull), *turned])
