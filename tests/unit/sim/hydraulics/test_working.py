"""The ratios that bound a precharge, in closed form and by a reference equation; which pressures keep the rule."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from CoolProp.CoolProp import PropsSI
from every import every
from hypothesis import given, settings
from hypothesis import strategies as st

from sim.hydraulics.gas_rule import MOST, GasRule
from sim.hydraulics.working import keeps, ratios, suiting_oils, suiting_precharges
from sim.unit import Accumulator, Settings, Unit

ATM = 101325.0
COLD, HOT, FILLED = 273.15, 308.15, 293.15
UNIT, RULE = Unit(), GasRule()
# geometry of the default unit: piston, link pin at 0.26 m, toolbar pin 0.05 m behind and 0.43 m over the link's
PISTON = math.pi / 4.0 * 0.032**2
SPACE = 0.70e-3


def length(angle_deg: float) -> float:
    """Between the cylinder's pins, by the cosine rule's own triangle."""
    a = math.radians(angle_deg)
    return math.dist((-0.05, 0.43), (-0.26 * math.cos(a), 0.26 * math.sin(a)))


DOWN, UP = (PISTON * (length(angle) - length(0.0)) for angle in (-28.0, 28.0))


def at(oil: float, precharge: float, **others: object) -> Settings:
    return Settings(oil_pressure=oil * 1e5, precharge=precharge * 1e5, **others)  # type: ignore[arg-type]


@every(("oil", "precharge"), [(40, 24), (30, 24), (50, 24), (77, 44), (25, 10), (60, 50)])
def test_of_an_ideal_gas_in_closed_form(oil, precharge):
    """pV constant on the slow way down; pV^1.4 on the fast way up (c_v = 5/2 R)."""
    found = ratios(UNIT, at(oil, precharge, gas="ideal"))
    p_set, p0 = oil * 1e5 + ATM, precharge * 1e5 + ATM
    full = p0 * HOT / FILLED
    lowest = full * SPACE / (full * SPACE / p_set + DOWN)
    assert found.share == pytest.approx(full / lowest, rel=1e-9)
    full = p0 * COLD / FILLED
    nominal = full * SPACE / p_set
    assert found.squeeze == pytest.approx(p_set * (nominal / (nominal + UP)) ** 1.4 / full, rel=1e-7)


@every(("oil", "precharge"), [(40, 24), (34, 24), (50, 24), (77, 44), (60, 33)])
def test_of_nitrogen_against_the_reference_equation(oil, precharge):
    """Span et al. 2000 by CoolProp: same filling and volumes, constant temperature and constant entropy."""
    found = ratios(UNIT, at(oil, precharge))
    mass = SPACE * PropsSI("D", "P", precharge * 1e5 + ATM, "T", FILLED, "Nitrogen")

    def pressures(temperature: float, swept: float, kept: str) -> tuple[float, float]:
        p_set = oil * 1e5 + ATM
        nominal = mass / PropsSI("D", "P", p_set, "T", temperature, "Nitrogen")
        held = PropsSI(kept, "P", p_set, "T", temperature, "Nitrogen")
        full = PropsSI("P", "D", mass / SPACE, "T", temperature, "Nitrogen")
        return full, PropsSI("P", "D", mass / (nominal + swept), kept, held, "Nitrogen")

    full, lowest = pressures(HOT, DOWN, "T")
    assert found.share == pytest.approx(full / lowest, rel=0.003)
    full, highest = pressures(COLD, UP, "S")
    assert found.squeeze == pytest.approx(highest / full, rel=0.02)


def test_a_precharge_above_the_oil_pressure_is_told_by_how_much():
    """The oil is gone at the lower stop, but the ratio goes on: no step, nothing infinite."""
    shares = [ratios(UNIT, at(40, p)).share for p in (20, 25, 30, 35, 38, 40, 45, 60, 100)]
    assert shares == sorted(shares)
    assert ratios(UNIT, at(40, 60)).share == pytest.approx(1.7, abs=0.1)
    assert ratios(UNIT, at(200, 5)).squeeze == MOST


@settings(deadline=None, max_examples=60)
@given(st.floats(3.0, 180.0), st.floats(3.0, 180.0), st.floats(0.5, 3.0))
def test_more_oil_lowers_the_share_and_raises_the_squeeze_while_there_is_cushion(oil, precharge, litres):
    unit = replace(UNIT, accumulator=Accumulator(volume=litres * 1e-3))
    here, more = ratios(unit, at(oil, precharge)), ratios(unit, at(1.05 * oil, precharge))
    assert more.share < here.share or more.share == MOST
    if oil > 1.2 * precharge:  # below the gas carries nothing: the squeeze is that of the move alone
        assert more.squeeze > here.squeeze or more.squeeze == MOST


@settings(deadline=None, max_examples=30)
@given(st.floats(5.0, 120.0))
def test_the_spans_end_where_the_rule_does(bar):
    for span, made in (
        (suiting_precharges(RULE, UNIT, at(bar, 1.0)), lambda p: at(bar, p)),
        (suiting_oils(RULE, UNIT, at(1.0, bar)), lambda p: at(p, bar)),
    ):
        for end, way in ((span.low / 1e5, 1.0), (span.high / 1e5, -1.0)):
            if 1.0 < end < 250.0:
                assert keeps(RULE, UNIT, made(end * (1.0 + way * 1e-4)))
                assert not keeps(RULE, UNIT, made(end * (1.0 - way * 1e-4)))
        low, high = (float(part) for part in span.bars.split(" to "))
        assert keeps(RULE, UNIT, made(low))
        assert keeps(RULE, UNIT, made(high))


def test_where_nothing_keeps_the_rule_and_where_everything_does():
    small = replace(UNIT, accumulator=Accumulator(volume=0.05e-3))
    span = suiting_precharges(RULE, small, at(40, 24))
    assert (span.empty, span.bars) == (True, "no")
    free = GasRule(share=MOST, squeeze=MOST)
    for oil, precharge in ((1.0, 200.0), (250.0, 1.0), (40.0, 24.0)):
        assert keeps(free, UNIT, at(oil, precharge))
    assert suiting_oils(free, UNIT, at(40, 24)) == (1e5, 250e5)
