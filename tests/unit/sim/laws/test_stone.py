"""The stone's law alone against closed forms: a mass that strikes a stone, with and without damping.

Not given way: m v v′ = −k x (1 + d v) integrates to v/d − ln(1 + d v)/d² + k x²/(2 m) = const (Hunt & Crossley 1975,
exponent 1); held at F_s: v² falls by 2 F_s/m per metre. The test runs compiled and as plain Python.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import pytest

from sim.laws.disc import stone_energy, stone_force

MASS, STIFFNESS, STRENGTH = 120.0, 0.6e6, 5e3


class Contact(NamedTuple):
    """What the law reads of a model."""

    rock_k: float
    rock_d: float
    rock_limit: float


class Blow(NamedTuple):
    """A mass's blow on a stone: SI units."""

    peak: float
    deepest: float
    sunk: float
    away: float  # speed at which it leaves
    contact: float  # work lost in the contact, and to the soil
    soil: float
    gave: bool


def struck(m: Contact, speed: float, step: float = 1e-5) -> Blow:
    """Stepped by RK4 as the march does: the stone's sinking is kept from step to step."""
    x, v, sunk, peak, contact, soil, deepest, gave = 0.0, speed, 0.0, 0.0, 0.0, 0.0, 0.0, False
    while x - sunk >= 0.0 or v > 0.0:
        sunk = max(sunk, x - m.rock_limit)
        dx, dv, a = 0.0, 0.0, 0.0
        xs, vs = x, v
        for stage in range(4):
            if stage > 0:
                reach = step if stage == 3 else 0.5 * step
                xs, vs = x + reach * vs, v + reach * a
            force, _, way, lost, under = stone_force(m, xs, vs, sunk)
            peak, gave = max(peak, force), gave or way > 0.0
            a = -force / MASS
            share = step / 6.0 * (2.0 if stage in (1, 2) else 1.0)
            dx, dv = dx + share * vs, dv + share * a
            contact, soil = contact + share * lost, soil + share * under
        x, v = x + dx, v + dv
        deepest = max(deepest, x)
    return Blow(peak, deepest, sunk, -v, contact, soil, gave)


def potential(v: float, d: float) -> float:
    """v/d − ln(1 + d v)/d², ½v² where there is no damping."""
    return 0.5 * v * v if d == 0.0 else v / d - math.log1p(d * v) / d**2


def root_of(f, low: float, high: float) -> float:
    """Where f, of unlike signs at both ends, is zero."""
    for _ in range(200):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if f(middle) * f(low) > 0.0 else (low, middle)
    return 0.5 * (low + high)


def closed_form(speed: float, d: float, strength: float) -> Blow:
    """The same blow by the two integrals; the damped force rises to F_s once and is then held until the mass turns."""
    k, limit = STIFFNESS, strength / STIFFNESS

    def after(x: float) -> float:
        """Speed at a penetration, not given way."""
        level = potential(speed, d) - 0.5 * k * x * x / MASS
        return root_of(lambda v: potential(v, d) - level, 0.0, speed)

    reach = math.sqrt(2.0 * MASS * potential(speed, d) / k)  # where it would turn
    force = [k * x * (1.0 + d * after(x)) for x in (reach * i / 2000.0 for i in range(2001))]
    if max(force) < strength:
        turn, sunk, peak, lost = reach, 0.0, max(force), 0.0
    else:
        first = next(i for i, f in enumerate(force) if f >= strength)
        x = root_of(
            lambda x: k * x * (1.0 + d * after(x)) - strength, reach * (first - 1) / 2000.0, reach * first / 2000.0
        )
        turn = x + 0.5 * MASS * after(x) ** 2 / strength
        assert turn > limit  # or it would be let go before it turns: no case here
        sunk, peak, lost = turn - limit, strength, strength * (turn - limit)
    held = turn - sunk
    away = root_of(lambda v: potential(-v, d) - 0.5 * k * held**2 / MASS, 0.0, 0.999 / d if d > 0.0 else 100.0)
    contact = 0.5 * MASS * (speed**2 - away**2) - lost
    return Blow(peak, turn, sunk, away, contact, lost, peak >= strength)


@pytest.mark.parametrize("damping", [0.0, 0.45])
@pytest.mark.parametrize("speed", [0.3, 1.0, 1.6])
def test_a_blow_is_that_of_the_closed_form(damping, speed):
    limit = STRENGTH / STIFFNESS
    got, exact = struck(Contact(STIFFNESS, damping, limit), speed), closed_form(speed, damping, STRENGTH)
    assert got.gave == exact.gave == (speed > 0.5)
    assert got.peak == pytest.approx(exact.peak, rel=1e-5)
    assert got.deepest == pytest.approx(exact.deepest, rel=1e-4)
    assert got.sunk == pytest.approx(exact.sunk, rel=1e-4, abs=1e-9)
    assert got.away == pytest.approx(exact.away, rel=1e-3)
    switching = STRENGTH * speed * 1e-5  # work in the step in which the sinking begins
    assert got.soil == pytest.approx(exact.soil, abs=switching)
    assert got.contact == pytest.approx(exact.contact, abs=2.0 * switching)


def test_held_by_damping_alone_it_does_not_sink():
    """Fast and shallow: k·x·(1 + d·v) would pass F_s before x comes to F_s/k."""
    m = Contact(STIFFNESS, 0.45, STRENGTH / STIFFNESS)
    force, pressed, way, lost, under = stone_force(m, 0.007, 2.0, 0.0)
    assert STIFFNESS * 0.007 < STRENGTH < STIFFNESS * 0.007 * 1.9
    assert (force, pressed, way, under) == (pytest.approx(STRENGTH), 0.007, 1.0, 0.0)
    assert lost == pytest.approx((STRENGTH - STIFFNESS * 0.007) * 2.0)


def test_a_stone_that_has_sunk_is_met_deeper():
    m = Contact(STIFFNESS, 0.0, STRENGTH / STIFFNESS)
    assert stone_force(m, 0.010, 0.0, 0.004)[0] == pytest.approx(STIFFNESS * 0.006)
    assert stone_force(m, 0.003, 0.0, 0.004)[:3] == (0.0, pytest.approx(-0.001), 0.0)
    assert stone_energy(m, 0.010, 0.004) == pytest.approx(0.5 * STIFFNESS * 0.006**2)
