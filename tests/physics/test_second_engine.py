"""Whole crossings: the compiled equations against the same unit as loose bodies in a general rigid-body engine.

Both engines at half a millisecond. Allowed: depth 0.01 mm RMS, pin series 0.3 %, peak 0.5 %, and 1 % in the 99.9th
percentile, which a drop puts on the flank of a knock of a few samples.
"""

from __future__ import annotations

import ast
import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from crooked import CROOKED
from every import every
from scipy.ndimage import grey_dilation
from synthetic_ground import FIRM, GEOMETRIC_MEAN, drop, rough, with_stone

import sim
from analysis.verify.checks import common, difference
from sim.errors import LinkageError, RunError
from sim.ground_tables import ground_tables
from sim.laws.contact import COLUMN
from sim.mechanism.linkage import wheel_over_disc
from sim.record import CAUSES, CHANNELS, PINS, Run
from sim.rigid.bodies import ARM, CARRIER, PIVOTS, assemble, parts
from sim.rigid.simulate import simulate_rigid
from sim.run import prepare, simulate
from sim.track import flat_track
from sim.unit import Settings, Soil, Unit

STEP = 0.5e-3  # of both engines [s]
D = GEOMETRIC_MEAN["D"]
TEN = Settings(speed=10 / 3.6)
CASES = {
    "rough": (Unit(), lambda: rough(8.0, D, 4), TEN),
    "stone on rough ground": (Unit(), lambda: with_stone(rough(7.0, D, 6), 3.0, 0.3, 0.03), TEN),
    "drop onto the stops, out of oil": (
        Unit(), lambda: drop(at=2.0, length=10.0), replace(TEN, oil_pressure=40e5, precharge=36e5),
    ),
    "crooked, thrown": (
        CROOKED, lambda: rough(10.0, 2 * D, 9), Settings(speed=15 / 3.6, oil_pressure=40e5, setting="unchanged"),
    ),
    "level, held, ideal gas": (
        Unit(), lambda: rough(7.0, D, 2), Settings(speed=12 / 3.6, toolbar="level", oil="held", gas="ideal"),
    ),
}  # fmt: skip


@cache
def crossed(name: str, step: float = STEP) -> tuple[Run, Run]:
    """A case in both engines."""
    unit, ground, settings = CASES[name]
    track = ground()
    return (
        simulate(unit, Soil(), track, settings, step=STEP),
        simulate_rigid(unit, Soil(), track, settings, step=step),
    )


@pytest.mark.parametrize("case", CASES)
def test_depth_arm_and_pins_agree(case):
    compiled, rigid = crossed(case)
    d = difference(rigid, compiled)
    assert d.depth < 0.01e-3
    assert d.angle < 0.02e-3
    assert d.series.max() < 0.003
    assert d.high.max() < 0.01
    assert d.peak.max() < 0.005


def test_the_cases_reach_what_they_are_for():
    stone, fall, thrown = (crossed(name)[0].series for name in list(CASES)[1:4])
    assert stone["rock_force"].max() > 5e3
    assert np.abs(fall["stop_force"]).max() > 5e3
    assert fall["gas_volume"].max() > Unit().accumulator.volume
    assert (thrown["gauge_load"] == 0.0).mean() > 0.05
    assert np.ptp(thrown["linkage"]) > 1e-3


@pytest.mark.parametrize("case", CASES)
def test_vectors_of_the_pins_agree(case):
    compiled, rigid = crossed(case)
    rows, others = common(compiled, rigid)
    ours, theirs = compiled.pins[rows], rigid.pins[others]
    apart = np.sqrt(((ours - theirs) ** 2).sum(axis=2).mean(axis=0))
    assert (apart < 0.004 * np.sqrt((ours**2).sum(axis=2).mean(axis=0))).all()
    force = compiled.actuator[rows]
    assert np.abs(force - rigid.actuator[others]).max() < 0.02 * np.abs(force).max()


@every("channel", [c.name for c in CHANNELS if c.name not in ("time", "disc_slip")])
def test_every_channel_agrees(channel):
    compiled, rigid = crossed("stone on rough ground")
    rows, others = common(compiled, rigid)
    a, b = compiled.series[channel][rows], rigid.series[channel][others]
    spread = max(np.ptp(a), 1e-3 if channel == "linkage" else 0.0)  # a true linkage does not drift at all
    assert np.sqrt(np.mean((a - b) ** 2)) <= 2e-3 * spread


@pytest.mark.parametrize("case", CASES)
def test_its_vectors_are_the_impulses_of_the_engine(case):
    rigid = crossed(case)[1]
    assert rigid.pin_residuals["momentum_balance_N"] < 1e-6
    assert rigid.pin_residuals["impulse_size_N"] < 1e-3
    assert rigid.pin_residuals["pivot_gap_m"] < 50e-6


@pytest.mark.parametrize("case", CASES)
def test_its_energy_and_causes_balance(case):
    compiled, rigid = crossed(case)
    assert rigid.energy.residual_share < 2e-5
    assert rigid.energy.losses.keys() == compiled.energy.losses.keys()
    for name, lost in compiled.energy.losses.items():
        assert rigid.energy.losses[name] == pytest.approx(lost, abs=2e-4 * compiled.energy.traffic), name
    error = rigid.series["depth"] - rigid.settings.set_depth
    assert np.abs(sum(rigid.series[cause] for cause in CAUSES) - error).max() < 1e-9


def test_half_the_step_is_a_quarter_of_the_error():
    compiled, fine = crossed("rough")
    coarse = crossed("rough", 2 * STEP)[1]
    assert difference(coarse, compiled).depth > 3.0 * difference(fine, compiled).depth


@every("depth", [0.02, 0.04, 0.06])
def test_it_stands_still_at_the_set_depth(depth):
    """The equilibrium found by the setting, handed to bodies that know nothing of it."""
    settings = Settings(speed=12 / 3.6, set_depth=depth)
    rigid = simulate_rigid(Unit(), Soil(), flat_track(2.0, FIRM), settings)
    assert np.abs(rigid.series["depth"] - depth).max() < 1e-8
    assert np.abs(rigid.series["arm_rate"]).max() < 1e-8
    assert rigid.series["gauge_load"] == pytest.approx(rigid.setting.gauge_load, rel=1e-6)


@every("turn", [-1.5, 1.5])  # [deg] deeper and shallower than the set depth
def test_a_crank_that_is_held_gives_both_the_same_depth(turn):
    """Readings are made at depth settings that someone chose by eye, so both engines take one as it is."""
    track, settings = rough(4.0, D, 4), replace(TEN, setting="unchanged")
    crank = prepare(Unit(), Soil(), track.rock, settings).setting.crank_angle + math.radians(turn)
    compiled = simulate(Unit(), Soil(), track, settings, step=STEP, crank=crank)
    rigid = simulate_rigid(Unit(), Soil(), track, settings, step=STEP, crank=crank)
    assert difference(rigid, compiled).depth < 0.01e-3
    at_reference = simulate(Unit(), Soil(), track, settings, step=STEP)
    shift = (compiled.series["depth"] - at_reference.series["depth"]).mean()
    assert math.copysign(1.0, shift) == -math.copysign(1.0, turn)
    assert 4e-3 < abs(shift) < 8e-3  # some 3.7 mm a degree at the reference (model.md's table of settings)


@every("unit", [Unit(), CROOKED], ids=["true", "crooked"])
@every("arm_angle", [-0.45, 0.0, 0.45])
def test_assembly_closes_every_pivot(unit, arm_angle):
    pose, part = assemble(unit, 1.7, arm_angle, -0.2), parts(unit)

    def place(body, point):
        c, s = math.cos(pose[body, 2]), math.sin(pose[body, 2])
        return pose[body, :2] + (c * point[0] - s * point[1], s * point[0] + c * point[1])

    for j, (a, b) in enumerate(PIVOTS.values()):
        assert place(a, part.on_first[j]) == pytest.approx(place(b, part.on_second[j]), abs=1e-12)
    over = place(ARM, part.axle)[1] - unit.gauge_wheel.radius - place(CARRIER, part.hub)[1] + unit.disc.radius
    assert over == pytest.approx(wheel_over_disc(unit, 1.7, arm_angle), abs=1e-12)


def test_linkage_that_does_not_close_is_refused():
    short = replace(Unit().depth_linkage, turnbuckle=0.06)
    with pytest.raises(LinkageError, match="cannot be put together"):
        assemble(replace(Unit(), depth_linkage=short), 1.7, 0.0, -0.2)
    with pytest.raises(LinkageError):
        simulate_rigid(replace(Unit(), depth_linkage=short), Soil(), flat_track(1.0, FIRM), Settings())


def test_parts_without_mass_are_refused():
    light = replace(Unit(), depth_linkage=replace(Unit().depth_linkage, rod_mass=0.0, crank_mass=0.01))
    with pytest.raises(RunError, match=r"crank 0\.01 kg, rod 0 kg; allowed: from 0\.05 kg; try: a mass"):
        simulate_rigid(light, Soil(), flat_track(1.0, FIRM), Settings())


def test_parts_without_a_moment_of_inertia_are_refused():
    point = replace(Unit(), carrier=replace(Unit().carrier, inertia=0.0))
    with pytest.raises(RunError, match=r"carrier 0 kg m²; allowed: from 1e-06 kg m²; try: one for these parts"):
        simulate_rigid(point, Soil(), flat_track(1.0, FIRM), Settings())


@every("passes", [10, 50])
def test_too_few_passes_are_told(passes):
    with pytest.raises(RunError, match="more passes"):
        simulate_rigid(Unit(), Soil(), flat_track(1.0, FIRM), TEN, passes=passes)


def test_light_parts_get_more_passes_and_feather_weights_are_refused():
    link = replace(
        Unit().depth_linkage, turnbuckle_mass=0.2, rod_mass=0.3, crank_mass=0.1, bell_mass=0.3, bell_inertia=0.001
    )
    carrier = replace(Unit().carrier, mass=400.0, inertia=25.0)
    light = replace(Unit(), carrier=carrier, depth_linkage=link)
    track, settings = rough(2.0, D, 2), Settings(speed=15 / 3.6)
    d = difference(simulate_rigid(light, Soil(), track, settings), simulate(light, Soil(), track, settings, step=STEP))
    assert d.depth < 0.01e-3
    assert d.series.max() < 0.01
    feather = replace(link, turnbuckle_mass=0.05, rod_mass=0.05, crank_mass=0.05, bell_mass=0.05, bell_inertia=1e-6)
    with pytest.raises(RunError, match=r"crank of 0\.05 kg is too light beside the carrier's 400 kg"):
        simulate_rigid(replace(light, depth_linkage=feather), Soil(), track, settings)


def test_pins_come_in_the_recorded_order():
    names = [name for name in PINS if not name.startswith("cylinder")]
    assert list(PIVOTS) == names


def test_it_shares_laws_but_no_motion():
    """What the engine's files take from the compiled model: laws and what stands before the first step, no motion."""
    allowed = {
        "sim.hydraulics.oil": {"hydraulics"},
        "sim.hydraulics.cylinder": {"piston_area"},
        "sim.setting": {"TRAVEL_MARGIN"},
        "sim.laws.contact": {"COLUMN", "impact_force", "read_table"},
        "sim.laws.disc": {"disc_force"},
        "sim.laws.wheel_soil": set(),
    }  # fmt: skip
    files = sorted((Path(sim.__file__).parent / "rigid").glob("*.py"))
    assert len(files) >= 5
    for file in files:
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                assert not any(alias.name.startswith("sim") for alias in node.names), file.name
            if isinstance(node, ast.ImportFrom) and node.module is not None:
                assert node.module != "sim"
                assert not node.module.startswith(("sim.mechanism", "sim.march")), file.name
                if node.module in allowed:
                    assert {alias.name for alias in node.names} <= allowed[node.module], file.name


@every("dx", [0.005, 0.0041])
def test_the_ground_that_both_engines_read_is_averaged_under_the_wheels(dx):
    """Both wheels' heights: envelope by scipy's dilation, then its mean over 0.06 m; soil strength the same way."""
    track = with_stone(rough(6.0, 4 * D, 6, dx=dx), 3.0, 0.3, 0.03)
    table = ground_tables(Unit(), track, 0.04).table

    def rolled(radius: float) -> np.ndarray:
        reach = math.floor(radius / dx)
        arc = np.sqrt(radius**2 - (dx * np.arange(-reach, reach + 1)) ** 2)
        return grey_dilation(track.surface, structure=arc, mode="nearest") - radius

    def mean(values: np.ndarray, at: float) -> float:
        around = np.linspace(at - 0.03, at + 0.03, 4801)
        return float(np.trapezoid(np.interp(around, track.x, values), around)) / 0.06

    columns = {
        COLUMN.gauge: rolled(Unit().gauge_wheel.radius),
        COLUMN.press: rolled(Unit().press_wheel.radius),
        COLUMN.wheel_strength: track.strength,
    }
    inside = np.flatnonzero((track.x > 0.0) & (track.x < 6.0))[::7]
    for column, values in columns.items():
        expected = [mean(values, float(track.x[i])) for i in inside]
        np.testing.assert_allclose(table[column, inside], expected, rtol=0.0, atol=1e-6 * np.ptp(values))
