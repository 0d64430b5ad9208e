"""The contact law of stones and stops against closed forms of an impact.

Sources: Hunt & Crossley 1975, J. Appl. Mech. 42, 440–445 (law and e ≈ 1 − αv `seen`); the exact relation
d(v + u) = ln[(1 + d v)/(1 − d u)] for a free mass, which holds for every exponent, is `derived`; linear spring
impacts are elementary (`derived`).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import reduced_unit
from every import every
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from sim.laws.contact import impact_force
from sim.laws.gas import IDEAL
from sim.mechanism.kinematics import State
from sim.model import pack
from sim.unit import GRAVITY, Rock, Soil

HUNT = "Hunt & Crossley 1975, exact form"
SPRING = "linear spring impact"


def bounce(mass: float, stiffness: float, damping: float, speed: float, push: float = 0.0):
    """(rebound speed, largest penetration, largest force, time in contact) of a mass on `impact_force`."""

    def rates(_, y):
        return [y[1], (push - impact_force(y[0], y[1], stiffness, damping)) / mass]

    def leaves(_, y):
        return y[0]

    def turns(_, y):
        return y[1]

    leaves.terminal, leaves.direction = True, -1.0
    end = 20.0 * math.sqrt(mass / stiffness)
    found = solve_ivp(
        rates, (0.0, end), [0.0, speed], events=(leaves, turns), rtol=1e-10, atol=1e-12, max_step=end / 400
    )
    force = [impact_force(x, v, stiffness, damping) for x, v in found.y.T]
    return -found.y[1, -1], found.y_events[1][0][0], max(force), found.t[-1]


def exact_restitution(damping: float, speed: float) -> float:
    """u/v from d(v + u) = ln[(1 + d v)/(1 − d u)]."""

    def gap(u):
        return damping * (speed + u) - math.log((1.0 + damping * speed) / (1.0 - damping * u))

    return brentq(gap, 1e-9 * speed, min(speed, (1.0 - 1e-12) / damping)) / speed


# α s/m, v m/s, exact restitution (ODE-checked)
RESTITUTION = [(0.1, 1.0, 0.909016), (0.2, 1.0, 0.832870), (0.3, 1.0, 0.768000), (0.1, 3.0, 0.768000)]


@every(("alpha", "speed", "value"), RESTITUTION)
def test_restitution_table(published, alpha, speed, value):
    d = 1.5 * alpha
    assert exact_restitution(d, speed) == pytest.approx(value, abs=1e-6)
    published(
        f"restitution at α {alpha} s/m, {speed:g} m/s", source=HUNT, status="derived", value=value,
        ours=bounce(5.0, 1e6, d, speed)[0] / speed, rel=1e-6,
    )  # fmt: skip


@every(("speed", "value"), [(1.0, 0.77), (2.0, 0.62), (3.0, 0.52)])
def test_restitution_of_the_default_stone(published, speed, value):
    rock = Rock()
    ours = bounce(60.0, rock.stiffness, rock.damping, speed)[0] / speed
    published(
        f"restitution of the default stone at {speed:g} m/s", source=HUNT, status="derived", value=value, ours=ours,
        within=0.006,
    )  # fmt: skip
    assert ours == pytest.approx(exact_restitution(rock.damping, speed), rel=1e-6)


@every("damping", [0.15, 0.45])
def test_largest_penetration(published, damping):
    mass, stiffness, speed = 50.0, 0.6e6, 2.0
    exact = math.sqrt(2 * mass / stiffness * (speed / damping - math.log(1 + damping * speed) / damping**2))
    published(
        f"largest penetration, 50 kg at 2 m/s on 0.6 MN/m, d {damping} s/m", source=HUNT, status="derived",
        value=1e3 * exact, ours=1e3 * bounce(mass, stiffness, damping, speed)[1], unit="mm", rel=1e-5,
    )  # fmt: skip


def test_linear_spring(published):
    mass, stiffness, speed = 50.0, 1e6, 1.0
    free, pushed = bounce(mass, stiffness, 0.0, speed), bounce(mass, stiffness, 0.0, speed, 2000.0)
    common = {"source": SPRING, "status": "derived"}
    published("peak force v√(km), 50 kg at 1 m/s on 1 MN/m", value=7071.0, ours=free[2], unit="N", rel=1e-4, **common)
    published("its time in contact π√(m/k)", value=22.2, ours=1e3 * free[3], unit="ms", rel=1e-3, **common)
    published(
        "peak force with 2 kN behind it, P + √(P² + kmv²)", value=9348.0, ours=pushed[2], unit="N", rel=1e-4, **common
    )


def test_no_pull_when_it_opens():
    assert impact_force(0.01, -10.0, 1e6, 0.45) == 0.0
    assert impact_force(-0.01, 5.0, 1e6, 0.45) == 0.0


@every("speed", [0.5, 1.5])
def test_carrier_dropped_on_a_plate(published, speed):
    """The march itself: a bare carrier with steady downforce lands on a hard plate at the disc."""
    mass, push, stiffness = 100.0, 1000.0, 0.6e6
    unit = reduced_unit.steady_push(reduced_unit.carrier_only(mass))
    settings = reduced_unit.pushing(unit, push)
    rock = Rock(stiffness=stiffness, damping=0.0, give_way=1e9)
    m = pack(unit, Soil(), rock, settings, reduced_unit.filled(unit, settings), math.radians(97.0))
    step, height = 2e-4, 10.0
    disc_bottom = height + unit.toolbar.upper_pin[1] + unit.disc.hub[1] - unit.disc.radius
    y = State(0.0, -speed / unit.main_links.length, 0.1, 0.0, 0.0, 0.0, 293.15, 0.0)
    table = reduced_unit.level_table(-50.0, hard=disc_bottom)
    got = reduced_unit.march_from(m, IDEAL, y, step=step, steps=600, z_bar=height, table=table)
    share = unit.cylinder.arm / unit.main_links.length
    assert np.abs(got.series["cylinder_force"] * share / push - 1.0).max() < 1e-3
    pushed = push + mass * GRAVITY
    exact = pushed + math.sqrt(pushed**2 + stiffness * mass * speed**2)
    published(
        f"peak force of the marched carrier landing at {speed:g} m/s", source=SPRING, status="derived", value=exact,
        ours=got.series["rock_force"].max(), unit="N", rel=2e-3,
    )  # fmt: skip
