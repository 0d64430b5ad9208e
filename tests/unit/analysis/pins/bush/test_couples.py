"""Out of plane: the whole unit's balance from what the ground does to it, and bush loads worked out by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from crooked import CROOKED

from analysis.pins.bush import couples
from analysis.pins.bush.beside import disc_load, pin_force, side_of
from analysis.pins.bush.bush_loop import PEAK, SIZE, SQUARE, WORN
from analysis.pins.bush.bush_sums import balances, rates_of, reduced
from analysis.pins.bush.bushes import bush_duties, bush_loads
from analysis.pins.bush.couples import COUPLED, left_over
from analysis.pins.bush.pressure import edge_pressure
from sim.bushes import MainPins, Pin
from sim.record import PINS
from sim.unit import GRAVITY, Settings, Soil, Unit

FLAT = Settings(toolbar="level")
UNIT = Unit()


@pytest.fixture(scope="module")
def flat(cross):
    return cross("flat", FLAT)


@pytest.fixture(scope="module")
def rough(cross):
    return cross("class D")


def with_pins(run, **changes):
    return replace(run, unit=replace(run.unit, pins=replace(run.unit.pins, **changes)))


def with_span(run, span):
    return with_pins(run, main=MainPins(span=span))


def ground_loads(run):
    """What ground and weights do to the unit at rest on flat ground: from the recorded loads and the laws alone, not
    from the pins. (beside the plane, x forward, z up) of each, at the last step [m, N]."""
    unit, soil, at = run.unit, Soil(), {name: float(values[-1]) for name, values in run.series.items()}
    wheel, link, disc = unit.gauge_wheel, unit.depth_linkage, unit.disc
    bn = (
        soil.strength * wheel.width * 2 * wheel.radius / at["gauge_load"] * 2.0 / (1 + 1.5 * wheel.width / wheel.radius)
    )
    angle = run.setting.crank_angle
    pin = np.array(link.crank_pivot) + link.actuator_arm * np.array([math.cos(angle), math.sin(angle)])
    way = pin - np.array(link.actuator_base)
    actuator = float(run.actuator[-1]) * way / np.hypot(*way)
    crank = pin_force(run, "crank")[:, -1]
    linkage = link.rod_mass + link.turnbuckle_mass + link.bell_mass + link.crank_mass
    return {
        "gauge wheel": (wheel.lateral, -(0.04 + 1.0 / bn) * at["gauge_load"], at["gauge_load"]),
        "gauge arm": (wheel.lateral, 0.0, -wheel.arm_mass * GRAVITY),
        "press wheel": (unit.press_wheel.lateral, -unit.press_wheel.rolling * at["press_load"], at["press_load"]),
        "press arm": (unit.press_wheel.lateral, 0.0, -unit.press_wheel.arm_mass * GRAVITY),
        "disc": (disc.lateral, at["disc_draught"], at["disc_vertical"]),
        "boot": (disc.lateral, -disc.boot_draught * at["depth"], disc.boot_vertical * at["depth"]),
        "linkage": (link.lateral, 0.0, -linkage * GRAVITY),
        "crank and actuator": (link.lateral, *(crank + actuator)),
    }


@pytest.mark.parametrize("of", [UNIT, CROOKED], ids=["parallel", "crooked"])
def test_the_whole_unit_is_in_balance_out_of_plane_by_what_ground_and_weights_do(cross, of):
    """At rest on flat ground, every load from its own law: side force, couples about the fore-aft and vertical axis."""
    flat = cross("flat", FLAT, of)
    found, unit, links = couples.couples(flat), flat.unit, flat.unit.main_links
    about_x = sum(y * z for y, _, z in ground_loads(flat).values())
    about_z = sum(-y * x for y, x, _ in ground_loads(flat).values())
    side, arm = side_of(flat), flat.series["arm_angle"][-1]
    depth, radius, hub = flat.series["depth"][-1], unit.disc.radius, unit.disc.hub
    x = -links.length * math.cos(arm) + hub[0] + 0.375 * math.sqrt(2 * radius * depth - depth**2)
    z = links.length * math.sin(arm) + hub[1] + links.spacing - radius + 0.6 * depth  # from the lower front pin
    force = flat.series["side_load"][-1]
    drag = side.drag
    about_x += -z * force + drag[0]
    about_z += x * force + drag[1]
    upper, lower = (found.couple[f"main_{name}_front"][:, -1] for name in ("upper", "lower"))
    held = found.side["main_upper_front"][-1], found.side["main_lower_front"][-1]
    about_x += upper[0] + lower[0] - links.spacing * held[0]
    about_z += upper[1] + lower[1]
    traffic = 2000.0  # of the size of the loads [N] at a metre
    assert abs(force + sum(held)) / traffic < 1e-9
    assert abs(about_x) / traffic < 1e-9
    assert abs(about_z) / traffic < 1e-9


@pytest.mark.parametrize("slope", [0.0, 0.1, -0.1])
@pytest.mark.parametrize("share", [0.0, 0.5, 1.0])
def test_the_balance_closes_at_every_step_of_rough_ground(rough, slope, share):
    found = couples.couples(rough, share, slope)
    scale = np.abs(pin_force(rough, "main_lower_front")).max()
    assert np.abs(left_over(rough, found, slope)).max() / scale < 1e-9


BROKEN = {
    "side force at the hub": lambda run: replace(side_of(run), z=side_of(run).z + run.unit.disc.radius),
    "side force further ahead": lambda run: replace(side_of(run), x=side_of(run).x + 0.01),
    "no drag": lambda run: replace(side_of(run), drag=0.0 * side_of(run).drag),
}


@pytest.mark.parametrize("lever", BROKEN)
def test_a_broken_lever_of_the_side_force_is_seen(rough, lever, monkeypatch):
    right, wrong = side_of(rough), BROKEN[lever](rough)
    monkeypatch.setattr(couples, "side_of", lambda run: wrong)
    broken = couples.couples(rough)
    monkeypatch.setattr(couples, "side_of", lambda run: right)
    assert np.abs(left_over(rough, broken)).max() > 0.1


LEVERS = [
    ("main_links", "length", 0.005), ("main_links", "spacing", 0.002), ("disc", "lateral", 0.001),
    ("gauge_wheel", "lateral", 0.001), ("press_wheel", "lateral", 0.001), ("depth_linkage", "lateral", 0.001),
    ("cylinder", "lateral", 0.001),
]  # fmt: skip


@pytest.mark.parametrize(("part", "name", "more"), LEVERS)
def test_a_lever_that_is_another_one_is_seen(rough, part, name, more):
    """Couples of a unit with one lever a little longer do not balance this one."""
    group = getattr(rough.unit, part)
    wrong = replace(rough.unit, **{part: replace(group, **{name: getattr(group, name) + more})})
    found = couples.couples(replace(rough, unit=wrong))
    assert np.abs(left_over(rough, found)).max() > 0.1


@pytest.mark.parametrize("arm", ["gauge_wheel", "press_wheel"])
def test_where_an_arms_own_bushes_stand_is_no_matter_of_the_main_pins(rough, arm):
    group = getattr(rough.unit, arm)
    moved = replace(rough.unit, **{arm: replace(group, arm_lateral=group.arm_lateral + 0.05)})
    here, there = couples.couples(rough).couple, couples.couples(replace(rough, unit=moved)).couple
    for name in PINS[:4]:
        assert np.abs(here[name] - there[name]).max() < 1e-9
    pivot = arm.replace("wheel", "arm")
    assert np.abs(here[pivot] - there[pivot]).max() > 1.0


def test_loads_found_from_the_pins_are_those_that_the_ground_was_told_to_give(rough):
    """Between the steps of a rough crossing: disc and boot from the carrier's balance, within what differences of the
    recorded angles allow; on the wheels exactly what their pins say."""
    found, series = disc_load(rough)[1], rough.series
    unit, soil = rough.unit, Soil()
    q = np.interp(series["distance"], rough.track.x, rough.track.strength) / soil.reference_strength
    boot = unit.disc.boot_vertical * np.clip(series["depth"], 0.0, None) * q  # the law's own depth is averaged ahead
    assert np.abs(found - series["disc_vertical"] - boot).mean() < 0.01 * np.abs(found).mean()
    assert found.mean() == pytest.approx((series["disc_vertical"] + boot).mean(), rel=2e-3)


def test_side_force_stands_three_eighths_of_the_chord_ahead_of_the_hub(flat):
    """Y at hub + (3c/8, −R + 3h/5): at 40 mm, R 0.28 m: c 144.2 mm; 54.1 mm ahead, 256 mm below the hub."""
    run = replace(flat, series={**flat.series, "depth": np.full_like(flat.series["depth"], 0.040)})
    side, (hub_x, hub_z) = side_of(run), UNIT.disc.hub
    assert side.x[0] - hub_x == pytest.approx(0.05408, abs=1e-5)
    assert side.z[0] - hub_z - UNIT.main_links.spacing == pytest.approx(-0.256, abs=1e-9)
    assert side.force[0] > 0.0
    assert side_of(replace(run, unit=replace(UNIT, disc=replace(UNIT.disc, pushed="right")))).force[0] < 0.0


def hand_made(run, pins, **series):
    """A run of five steps whose pins, arm angle and series are given; nothing moves."""
    n = 5
    plain = {name: np.zeros(n) for name in run.series} | {name: np.full(n, value) for name, value in series.items()}
    forces = np.zeros((n, len(PINS), 2))
    for name, force in pins.items():
        forces[:, PINS.index(name)] = force
    return replace(run, series=plain, pins=forces)


def test_each_bush_of_the_main_pins_by_hand_for_a_given_disc_force(flat):
    """A disc force of 1200 N up and 400 N back, 30 mm left of the plane, a side force of 300 N to the left at 40 mm of
    depth; no wheel on the ground, no weight, arm level, links 0.55 m, pins 0.25 m apart, bushes 120 mm apart.

    Side force at x = −0.20 + 0.0541 = −0.1459 m, z = −0.55 + 0.25 − 0.256 = −0.556 m from the lower rear pin.
    About x: 0.03·1200 + 0.556·300 = 36 + 166.8 = 202.8 N m; about z: 0.03·400 − 0.1459·300 = 12 − 43.77 = −31.77 N m.
    Each rear pin holds 150 N to the right; that of the upper, 0.25 m over the lower, gives 0.25·150 = 37.5 N m about x.
    Couple of each rear pin: −(202.8 + 37.5)/2 = −120.15 and 31.77/2 = 15.89 N m. (The upper pin's side force, pointing
    right above the lower, turns the same way as the side force on the disc below: both have to be held.)
    Front pins: −120.15 about x; about z 15.89 + 0.55·150 = 98.39 N m.
    On a bush 60 mm left of the middle: Fz + 2·Mx/(2·0.06), that is Fx/2 − Mz/0.12, Fz/2 + Mx/0.12.
    Lower rear, F = (−1000, 300): left (−500 − 132.4, 150 − 1001.2) = (−632.4, −851.2), 1060.4 N;
    right (−367.6, 1151.2), 1208.5 N. Lower front, F the same: left (−500 − 819.9, −851.2) = (−1319.9, −851.2),
    1570.6 N; right (319.9, 1151.2), 1194.9 N."""
    unit = replace(
        UNIT, disc=replace(UNIT.disc, drag_torque=0.0), carrier=replace(UNIT.carrier, mass=0.0), pins=UNIT.pins
    )
    # the carrier without mass: pins ahead of it hold the disc's force
    pins = {"main_upper_rear": (1400.0, -1500.0), "main_lower_rear": (-1000.0, 300.0),
            "main_upper_front": (1400.0, -1500.0), "main_lower_front": (-1000.0, 300.0)}  # fmt: skip
    run = replace(hand_made(flat, pins, depth=0.040, side_load=300.0), unit=unit)
    assert disc_load(run)[:, 0] == pytest.approx([-400.0, 1200.0])
    found = couples.couples(run)
    assert found.couple["main_lower_rear"][:, 0] == pytest.approx([-120.15, 15.89], abs=0.02)
    assert found.couple["main_upper_front"][:, 0] == pytest.approx([-120.15, 98.39], abs=0.02)
    rear, front = (np.hypot(*bush_loads(run, found, f"main_lower_{end}")[:, :, 0].T) for end in ("rear", "front"))
    assert rear == pytest.approx([1060.4, 1208.5], abs=0.5)
    assert front == pytest.approx([1570.6, 1194.9], abs=0.5)
    told = {duty.name: duty for duty in bush_duties(run)}
    assert told["main_lower_front"].peak == pytest.approx(1570.6, abs=0.5)
    assert told["main_lower_rear"].peak == pytest.approx(1208.5, abs=0.5)


def test_arms_pass_the_offset_of_their_wheel_as_a_couple_of_their_pivot(flat):
    """Gauge wheel 20 mm left of its arm's bushes: 500 N up on the wheel, held by the pivot alone (no turnbuckle):
    the arm gets −500 N of its pivot and the couple −0.02·500 = −10 N m about x; bushes 90 mm apart: ± 111 N."""
    run = hand_made(flat, {"gauge_arm": (0.0, -500.0), "press_arm": (40.0, -300.0)})
    found = couples.couples(run).couple
    assert found["gauge_arm"][:, 0] == pytest.approx([-10.0, 0.0])
    # press wheel 30 mm left of its arm's bushes: −0.03·300 about x, −0.03·40 about z
    assert found["press_arm"][:, 0] == pytest.approx([-9.0, -1.2])
    sizes = np.hypot(*bush_loads(run, couples.couples(run), "gauge_arm")[:, :, 0].T)
    assert sizes == pytest.approx([250.0 + 111.1, 250.0 - 111.1], abs=0.1)


def test_pins_of_cylinder_and_linkage_carry_no_couple(rough):
    assert set(couples.couples(rough).couple) == set(COUPLED)
    assert all(duty.couple_part == 0.0 for duty in bush_duties(rough) if duty.name not in COUPLED)


def test_double_the_span_halves_the_couples_part(rough):
    near, far = (bush_duties(with_span(rough, span), PINS[:4]) for span in (0.12, 0.24))
    for one, other in zip(near, far, strict=True):
        assert other.couple_part == pytest.approx(0.5 * one.couple_part, rel=1e-12)
        assert other.in_plane == pytest.approx(one.in_plane, rel=1e-12)
        assert other.mean < one.mean


def test_all_upper_and_all_lower_bound_the_equal_share(rough):
    """What the upper pins do not take the lower ones do."""
    upper, equal, lower = (couples.couples(rough, share) for share in (1.0, 0.5, 0.0))
    for end in ("front", "rear"):
        a, b, c = (found.couple[f"main_upper_{end}"] for found in (upper, equal, lower))
        assert np.abs(c).max() == 0.0
        assert (np.hypot(*b) <= np.hypot(*a) + 1e-9).all()
        assert np.abs(lower.couple[f"main_lower_{end}"]).max() > 0.0


def test_a_double_disc_has_no_side_force_and_no_leaning_drag(flat):
    run = replace(flat, unit=replace(UNIT, disc=replace(UNIT.disc, blades=2)))
    assert np.abs(side_of(run).drag).max() == 0.0


def test_on_a_side_slope_each_pin_is_told_on_its_worse_side(rough):
    level, sloping = bush_duties(rough, PINS[:4]), bush_duties(with_pins(rough, side_slope=0.1), PINS[:4])
    for one, flat in zip(sloping, level, strict=True):
        assert one.worn > flat.worn
    weight = rough.unit.carrier.mass * GRAVITY * np.sin(0.1)
    down, up = (couples.couples(rough, None, angle).side["main_lower_front"] for angle in (0.1, -0.1))
    links = 2.0 * rough.unit.main_links.mass * GRAVITY * np.sin(0.1)
    assert (up - down).max() > weight + links  # half of all weights, both ways


def test_a_single_bush_at_its_edge_step_by_step_as_the_closed_form(rough):
    run, name = with_span(rough, 0.0), "main_upper_rear"
    pin, duty, couple = run.unit.pins.of(name), bush_duties(run, (name,))[0], couples.couples(run).couple[name]
    closed = edge_pressure(run.pin_load(name), np.hypot(*couple), pin.diameter, pin.length)
    assert pin.bushes == 1
    assert duty.edge == pytest.approx(float(np.max(closed)), rel=1e-12)
    held, rates, single = balances(run)[0], rates_of(run), Pin(0.02, 0.0, 0.025)
    for load in (0.01, 1.0, 100.0):  # [N m]: full contact, part of it, on the edge alone
        held.arms.couple["press_arm"][:] = load
        rates["press_arm"] = np.full_like(rates["press_arm"], 2.0)
        found = reduced(run, held, rates, pins={"press_arm": single}).pins["press_arm"]
        about = math.sqrt(2.0) * load
        assert found.edge == pytest.approx(float(np.max(edge_pressure(run.pin_load("press_arm"), about, 0.02, 0.025))))
        assert found.tilted == pytest.approx(6.0 / 0.025 * 2.0 * about * run.pins.shape[0] * run.step)


@pytest.mark.parametrize("slope", [0.0, 0.1])
@pytest.mark.parametrize("span", [0.12, 0.0])
def test_sums_of_bushes_are_those_of_their_loads_step_by_step(rough, span, slope):
    """Those of the compiled pass beside loads that stand step by step: who takes the couples, ends of the range too."""
    run = with_pins(rough, main=MainPins(span=span), side_slope=slope, upper_share=0.3)
    rates = rates_of(run)
    for held, down in zip(balances(run), (slope, -slope), strict=False):
        found, step = reduced(run, held, rates), couples.couples(run, None, down)
        ends = [couples.couples(run, share, down) for share in (0.0, 1.0)]
        for name in COUPLED:
            loads = np.hypot(*bush_loads(run, step, name).transpose(1, 0, 2))
            sums = found.pins[name].bushes[: len(loads)] / run.step
            np.testing.assert_allclose(sums[:, SIZE], loads.sum(axis=1), rtol=1e-11)
            np.testing.assert_allclose(sums[:, SQUARE], np.square(loads).sum(axis=1), rtol=1e-11)
            np.testing.assert_allclose(sums[:, WORN], loads @ rates[name], rtol=1e-11)
            above = found.pins[name].bushes[: len(loads), PEAK] / np.square(loads).max(axis=1)  # between steps too
            assert above.min() > 1.0 - 1e-12
            assert above.max() < 1.02
            turn = np.hypot(*step.couple[name])
            assert found.pins[name].couple == pytest.approx(float(turn.sum()) * run.step, rel=1e-11)
            if name not in found.ends:
                continue
            for told, end in zip(found.ends[name], ends, strict=True):
                worn = np.hypot(*bush_loads(run, end, name).transpose(1, 0, 2)) @ rates[name]
                if not span:
                    worn = worn + 6.0 / run.unit.pins.of(name).length * np.hypot(*end.couple[name]) @ rates[name]
                np.testing.assert_allclose(told[: len(loads)], worn * run.step, rtol=1e-11)
