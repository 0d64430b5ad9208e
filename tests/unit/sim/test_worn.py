"""Play in the pins: levers by hand, the shift both ways, how it lies when the depth is set, energy, what is refused."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import synthetic_ground

from sim.errors import RunError
from sim.laws.wheel_soil import soil_constants
from sim.mechanism.linkage import setting_ratios, wheel_over_disc
from sim.record import CAUSES
from sim.rigid.simulate import simulate_rigid
from sim.run import prepare, simulate, start
from sim.setting import equilibrium
from sim.step import choose_step
from sim.track import Track, flat_track
from sim.unit import Clearance, DepthLinkage, Rock, Settings, Soil, Unit
from sim.worn import is_worn, loads, resting, wheel_levers, without_play, worn

CRANK = math.radians(97.6)
DEPTH = Clearance(depth_linkage=0.002, gauge_arm=0.002)
MAIN = Clearance(main_pins=0.002)
BOTH = Clearance(0.002, 0.002, 0.002)


def unit_with(clearance: Clearance) -> Unit:
    return replace(Unit(), clearance=clearance)


def cross(a: complex, b: complex) -> float:
    """Counter-clockwise moment of b at a."""
    return (a.conjugate() * b).imag


def at(angle: float) -> complex:
    return complex(math.cos(angle), math.sin(angle))


def by_hand(alpha: float) -> dict[str, float]:
    """Pin forces of the default unit under 1 N up at the gauge axle and 1 N down at the disc's hub, no weights.

    Free bodies by hand, points x + iz from the upper front pin; lengths typed in again.
    """
    rear, arm_pivot, hub = -0.55 + 0j, -0.55 + 0.02 - 0.48j, -0.55 - 0.20 - 0.55j
    crank, first = 0.12 * at(alpha), rear + 0.12 * at(alpha)
    second = rear + 0.12 * at(alpha + math.pi / 2)
    span = abs(second - arm_pivot)
    gamma = math.acos((0.15**2 + span**2 - 0.525**2) / (2 * 0.15 * span))
    along = (second - arm_pivot) / span * at(gamma)  # pivot → lug → axle
    lug, axle = 0.15 * along, 0.30 * along
    buckle = (arm_pivot + lug - second) / 0.525
    pushed = -cross(axle, 1j) / cross(lug, buckle)  # turnbuckle on the arm
    on_arm = -1j - pushed * buckle  # carrier on the arm
    rod = (first - crank) / abs(first - crank)
    rod_force = cross(second - rear, pushed * buckle) / cross(first - rear, rod)  # rod on the bell crank, along it
    on_bell = pushed * buckle - rod_force * rod  # carrier on the bell crank
    base, pin = 0.40 + 0.05j, 0.10 * at(alpha)
    actuator = (pin - base) / abs(pin - base)
    held = cross(crank, rod_force * rod) / cross(pin, actuator)
    on_crank = rod_force * rod - held * actuator
    # carrier: no weight; both main links pull along x; moments about the lower rear pin
    lower = rear - 0.25j
    loads = ((rear, -on_bell), (arm_pivot, -on_arm), (hub, -1j))
    upper_pull = sum(cross(point - lower, force) for point, force in loads) / 0.25
    lower_pull = -upper_pull - sum(force for _, force in loads).real
    return {
        "crank": abs(on_crank), "rod_front": abs(rod_force), "rod_rear": abs(rod_force), "bell_crank": abs(on_bell),
        "turnbuckle_front": abs(pushed), "turnbuckle_rear": abs(pushed), "gauge_arm": abs(on_arm),
        "main_upper_front": upper_pull, "main_upper_rear": upper_pull, "main_lower_front": lower_pull,
        "main_lower_rear": lower_pull,
    }  # fmt: skip


def test_levers_are_the_pin_forces_of_a_newton_on_the_wheel():
    hand, found = by_hand(CRANK), wheel_levers(Unit(), CRANK)
    assert found.keys() == hand.keys()
    for pin, force in hand.items():
        # pulled forward along x is pulled: the links run rearwards, so pushed has the other sign
        expected = -force if pin.startswith("main") else force
        assert abs(found[pin]) == pytest.approx(abs(expected), rel=1e-6), pin
        if pin.startswith("main"):
            assert found[pin] == pytest.approx(expected, rel=1e-6), pin


def test_a_millimetre_in_a_turnbuckles_pin_is_two_of_depth():
    """As a turnbuckle that is longer by that: 2.0 mm of depth, rod 2.0, both signs as the setter has them."""
    levers = wheel_levers(Unit(), CRANK)
    assert levers["turnbuckle_front"] == pytest.approx(2.0, abs=0.02)
    assert levers["turnbuckle_front"] == pytest.approx(-setting_ratios(Unit(), CRANK).turnbuckle, rel=1e-6)
    rod = replace(Unit(), depth_linkage=DepthLinkage(rod=0.5501))
    lost = wheel_over_disc(Unit(), CRANK, 0.0) - wheel_over_disc(rod, CRANK, 0.0)
    assert abs(levers["rod_front"]) == pytest.approx(abs(lost) / 1e-4, rel=2e-3)


def test_lines_add_up_their_pins():
    made, levers = worn(unit_with(Clearance(0.001, 0.002, 0.003)), CRANK), wheel_levers(Unit(), CRANK)
    six = [levers[pin] for pin in levers if not pin.startswith(("main", "gauge"))]
    assert len(six) == 6
    total = sum(0.5 * 0.002 * abs(f) for f in six) + 0.5 * 0.003 * levers["gauge_arm"]
    assert made.half[0] == pytest.approx(total, rel=1e-12)
    assert made.half[1] == pytest.approx(0.001 * abs(levers["main_upper_front"]), rel=1e-12)
    assert made.half[2] == pytest.approx(0.001 * abs(levers["main_lower_front"]), rel=1e-12)
    # what moves: the gauge arm with its wheel about its pivot
    assert made.mass[0] == pytest.approx((0.25 + 14 * 0.25**2) / 0.27**2, rel=0.08)


def test_without_play_nothing_of_it_is_there():
    ready = prepare(Unit(), Soil(), Rock(), Settings())
    assert ready.worn is None
    assert start(Unit(), Soil(), ready)[1] is None
    assert not is_worn(Unit())
    assert is_worn(unit_with(MAIN))
    assert without_play(unit_with(BOTH)) == Unit()


def test_play_of_next_to_nothing_changes_next_to_nothing(cross):
    tight, tiny = cross("class D"), cross("class D", unit=unit_with(Clearance(1e-9, 1e-9, 1e-9)))
    assert np.abs(tight.series["depth"] - tiny.series["depth"]).max() < 1e-6
    assert np.abs(tight.pins - tiny.pins).max() < 1.0


def slow(levels: tuple[float, ...]) -> Track:
    """Level ground that rises and falls slowly from level to level [m], 8 m on each and 12 m from one to the next."""
    track = flat_track(20.0 * len(levels) + 8.0, 1.2e6)
    ground, before = np.zeros(track.x.size), 0.0
    for k, level in enumerate(levels):
        u = np.clip((track.x - 8.0 - 20.0 * k) / 12.0, 0.0, 1.0)
        ground += (level - before) * (3 * u**2 - 2 * u**3)
        before = level
    return replace(track, ground=ground)


LEVEL = Settings(toolbar="level")
DIP, HUMP = -0.45, 0.15  # the wheel hangs in the one, and carries half as much again on the other


@pytest.fixture(scope="module")
def slowly():
    """Linkage part [m], gauge load [N] and depth [m] at the middle of each level, by clearance."""

    def crossing(clearance: Clearance) -> np.ndarray:
        run = simulate(unit_with(clearance), Soil(), slow((DIP, 0.0, HUMP, 0.0)), LEVEL)
        places = np.searchsorted(run.series["distance"], [4.0, 24.0, 44.0, 64.0, 84.0])
        return np.array([run.series[name][places] for name in ("linkage", "gauge_load", "depth")])

    return crossing


def test_slow_reversal_of_the_depth_linkage(slowly):
    """Loaded when set; hanging over the dip the wheel is lower by all of the play; back to the letter."""
    linkage, load, _ = slowly(DEPTH)
    way = 0.002 * sum(abs(f) for pin, f in by_hand(CRANK).items() if not pin.startswith("main"))
    assert load[1] == 0.0
    assert linkage[1] == pytest.approx(-way, rel=1e-3)  # the lever at this setting, not at 97.6°
    assert linkage[[0, 2, 3, 4]] == pytest.approx(np.zeros(4), abs=1e-12)


def test_slow_reversal_of_the_main_pins(slowly):
    """On the hump the upper link is pulled where it was pushed when set: the wheel is let up by all of its play."""
    linkage, load, depth = slowly(MAIN)
    upper = 2 * 0.002 * abs(by_hand(CRANK)["main_upper_front"])
    assert load[3] > 1.2 * load[0]
    assert linkage[3] == pytest.approx(upper, rel=1e-3)
    assert linkage[[0, 2, 4]] == pytest.approx(np.zeros(3), abs=1e-12)
    # and the depth there is that of the wheel's load at rest, on the play that is taken up
    squash = load / 200e3 + (load / soil_constants(Soil(), 0.10, 0.20).load) ** (1.0 / 1.1)
    expected = 0.040 + linkage + squash - squash[0]
    assert depth[[0, 3, 4]] == pytest.approx(expected[[0, 3, 4]], abs=2e-6)


def test_the_depth_is_set_with_the_loads_of_work():
    """Wheel, squash and load as without wear; the crank makes up for what the pins give."""
    tight, made = (prepare(u, Soil(), Rock(), Settings()) for u in (Unit(), unit_with(BOTH)))
    for name in ("toolbar_height", "squash", "gauge_load", "press_angle", "wheel_over_disc"):
        assert getattr(made.setting, name) == pytest.approx(getattr(tight.setting, name), rel=1e-6), name
    height = wheel_over_disc(Unit(), made.setting.crank_angle, 0.0)
    assert height + made.worn.lift.height == pytest.approx(tight.setting.wheel_over_disc, abs=1e-9)
    depth, upper, lower = (a / h for a, h in zip(made.worn.at, made.worn.half, strict=True))
    assert (depth, lower) == (1.0, -1.0)  # pushed up by the wheel; the lower link is pushed by the cylinder
    assert upper == -1.0  # pushed: the load at which it is pulled is little higher
    y, loose = start(unit_with(BOTH), Soil(), made)
    assert y.dg == pytest.approx(start(Unit(), Soil(), tight)[0].dg, rel=1e-6)
    assert loose is not None


def test_rest_is_found_between_the_ends():
    """At a load that turns the upper link the play lies where that load is nothing, not at an end."""
    unit = unit_with(MAIN)
    ready = prepare(unit, Soil(), Rock(), LEVEL)
    m, law, z = ready.model, ready.law, ready.setting.toolbar_height
    found = [resting(unit, m, law, z - lower, 1.2e6, ready.worn)[2] for lower in (0.0, 0.08, 0.25)]
    first, between, last = (play.at[1] / play.half[1] for play in found)
    assert (first, last) == (-1.0, 1.0)
    assert abs(between) < 1.0
    th, ps = equilibrium(unit, m, law, z - 0.08, 1.2e6, found[1].lift)
    assert loads(m, law, z - 0.08, th, ps, 1.2e6, found[1], found[1].at)[1] == pytest.approx(0.0, abs=0.1)


@pytest.mark.parametrize("clearance", [DEPTH, MAIN, BOTH], ids=["depth", "main", "both"])
def test_parts_add_up_and_the_energy_closes(cross, clearance):
    run = cross("stony", unit=unit_with(clearance))
    error = run.series["depth"] - run.settings.set_depth
    assert np.abs(sum(run.series[cause] for cause in CAUSES) - error).max() < 1e-9
    assert run.energy.residual_share < 1e-4
    assert run.energy.losses["play"] != 0.0
    made = prepare(run.unit, run.soil, run.track.rock, run.settings).worn
    way = 2 * np.array(made.half)
    moved = run.series["linkage"]
    assert moved.max() <= way[1:].sum() + 1e-9
    assert moved.min() >= -way[0] - 1e-9
    assert any(text.startswith("worn pins: the play of") for text in run.warnings)


def test_the_step_is_short_enough(cross):
    usual = cross("class D", unit=unit_with(BOTH))
    fine = cross("class D", unit=unit_with(BOTH), step=usual.step / 4)
    same = np.interp(fine.series["time"], usual.series["time"], usual.series["depth"])
    off = np.abs(same - fine.series["depth"])
    assert np.sqrt(np.mean(off**2)) < 1e-4
    shares = [np.mean(np.abs(run.series["depth"] - 0.04) <= 0.01) for run in (usual, fine)]
    assert shares[0] == pytest.approx(shares[1], abs=3e-3)


def test_main_pins_cost_depth_and_the_depth_linkage_hardly(cross):
    """Loads on the upper link turn while the wheel carries, those of the depth linkage only in the air."""
    scatter = {c: cross("class D", unit=unit_with(c)).series["depth"].std() for c in (Clearance(), DEPTH, MAIN)}
    assert scatter[MAIN] > 1.2 * scatter[Clearance()]
    assert scatter[DEPTH] == pytest.approx(scatter[Clearance()], rel=0.03)


def test_a_light_gauge_arm_asks_for_shorter_steps():
    light = replace(Unit().gauge_wheel, arm_mass=0.1, arm_inertia=0.0)
    steps = [
        choose_step(replace(Unit(), gauge_wheel=light, clearance=c), Soil(), Rock(), Settings()).seconds
        for c in (Clearance(), BOTH)
    ]
    assert steps[1] < 0.8 * steps[0]
    usual = [choose_step(unit_with(c), Soil(), Rock(), Settings()) for c in (Clearance(), BOTH)]
    assert usual[0] == usual[1]


def test_the_second_engine_refuses_play():
    with pytest.raises(RunError, match=r"pivot without play.*unit\.clearance of 0 mm.*the compiled engine"):
        simulate_rigid(unit_with(MAIN), Soil(), synthetic_ground.named("class D"), Settings())
