"""Closed-form dynamics of a carrier on a parallelogram, marched with the full model reduced by its parameters.

All forms are elementary mechanics (`derived`): (mL² + 2I_a) θ̈ = L cos θ (F_z − (m + 2 m_a l_a/L) g) − L sin θ F_x.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import reduced_unit
from every import every
from reduced_unit import carrier_only, filled, insulated, level_table, linear_soil, march_from, point_wheel, pushing

from sim.hydraulics.cylinder import cylinder_length, downforce
from sim.laws.gas import IDEAL, law_named
from sim.laws.wheel_soil import CONTACT_LENGTH
from sim.mechanism.kinematics import State
from sim.model import pack
from sim.run import simulate
from sim.setting import rest_at
from sim.track import flat_track
from sim.unit import ATMOSPHERE, GRAVITY, MainLinks, Rock, Settings, Soil, Unit

ARM = "carrier on a parallelogram, elementary mechanics"


def hanging(links: float, angle: float, mass: float = 100.0):
    """A carrier that hangs on its gas spring at an arm angle: unit, settings and the spring's rate [N/m] isothermal."""
    unit = carrier_only(mass, links)
    unit = replace(
        unit,
        main_links=MainLinks(mass=links, angle_nominal=angle),
        cylinder=replace(unit.cylinder, frame=(-unit.cylinder.arm * math.cos(angle), -reduced_unit.FAR)),
        accumulator=insulated(unit.accumulator),
    )
    settings = replace(pushing(unit, (mass + links) * GRAVITY), precharge=5e5)
    area = math.pi / 4.0 * unit.cylinder.bore**2
    share = unit.cylinder.arm / unit.main_links.length
    pressure = settings.oil_pressure + ATMOSPHERE
    rate = share**2 * pressure * area**2 / filled(unit, settings).volume
    return unit, settings, rate


def swing(unit: Unit, settings: Settings, angle: float, seconds: float, step: float = 1e-3, rate: float = 0.01):
    """March from a push at rest, far above the ground."""
    m = pack(unit, Soil(), Rock(), settings, filled(unit, settings), math.radians(97.0))
    y = State(angle, rate, 0.1, 0.0, 0.0, 0.0, settings.gas_temperature, 0.0)
    return march_from(m, IDEAL, y, step=step, steps=round(seconds / step), z_bar=50.0, table=level_table(-10.0))


def frequency(series: np.ndarray, about: float, step: float) -> float:
    """Frequency [Hz] from the rises through `about`, interpolated."""
    x = series - about
    i = np.flatnonzero((x[:-1] < 0.0) & (x[1:] >= 0.0))
    at = i - x[i] / (x[i + 1] - x[i])
    return (len(at) - 1) / ((at[-1] - at[0]) * step)


@every("links", [0.0, 10.0, 40.0])
@every("degrees", [0.0, -20.0])
def test_small_oscillation(published, links, degrees):
    """ω = cos θ0 √(k/(m + 2I_a/L²)), vertical forces only; k the insulated gas spring's 1.4 p A² MR²/V."""
    angle = math.radians(degrees)
    unit, settings, rate = hanging(links, angle)
    moved = links * unit.main_links.length**2 / 3.0
    exact = math.cos(angle) * math.sqrt(1.4 * rate / (100.0 + 2 * moved / unit.main_links.length**2)) / (2 * math.pi)
    got = swing(unit, settings, angle, 12.0)
    published(
        f"oscillation at {degrees:g}° with two links of {links:g} kg", source=ARM, status="derived", value=exact,
        ours=frequency(got.series["arm_angle"], angle, 1e-3), unit="Hz", rel=2e-4,
    )  # fmt: skip


def test_energy_of_a_free_swing(published):
    """No losses: stored energy changes by the atmosphere's and the toolbar's work alone over 10 s."""
    unit, settings, _ = hanging(10.0, 0.0)
    got = swing(unit, settings, 0.0, 10.0, step=5e-4, rate=0.5)
    residual = got.sums["work"] - (got.stored[1] - got.stored[0]) - got.sums["atmosphere"]
    kinetic = 0.5 * (100.0 + 20.0 / 3.0) * (0.5 * 0.55) ** 2
    published(
        "energy lost by a free swing of 10 s, share of its energy", source=ARM, status="derived", value=0.0,
        ours=residual / kinetic, within=1e-6,
    )  # fmt: skip
    assert np.ptp(got.series["arm_angle"]) > 0.1


def test_vertical_rate_of_wheel_and_soil(published):
    """Carrier on its gauge wheel: linear soil (n = ½) on a rigid tyre, arm level; ω² = k/(m + 2I_a/L²).

    Rolling resistance 0.04 N turns with the arm and adds ρN/(mL): it is in the closed form.
    """
    links, stiffness, push = 10.0, 150e3, 2000.0
    unit = reduced_unit.steady_push(carrier_only(100.0, links))
    unit = point_wheel(unit, 1e12)
    soil = linear_soil(unit, stiffness)
    settings = pushing(unit, push)
    length = unit.main_links.length
    m = pack(unit, soil, Rock(), settings, filled(unit, settings), math.radians(97.0))
    law = law_named("ideal")
    load = push + (100.0 + links) * GRAVITY
    base = rest_at(m, law, 5.0, 0.0, 0.1, 1e20)
    z_bar = (
        5.0 - (base.over + (unit.toolbar.upper_pin[1] + unit.disc.hub[1] + 5.0 - unit.disc.radius)) - load / stiffness
    )
    eps = 1e-5
    torque = [rest_at(m, law, z_bar, x, 0.1, 1e20).load_th for x in (-eps, 0.0, eps)]
    assert abs(torque[1]) < 1e-6 * load * length
    mass = 100.0 + 2 * links / 3.0
    ours = math.sqrt(-(torque[2] - torque[0]) / (2 * eps) / (mass * length**2)) / (2 * math.pi)
    exact = math.sqrt((stiffness + 0.04 * load / length) / mass) / (2 * math.pi)
    published(
        "carrier on its gauge wheel, soil 150 kN/m", source=ARM, status="derived", value=exact, ours=ours, unit="Hz",
        rel=1e-5,
    )  # fmt: skip


def test_where_a_vertical_force_acts_does_not_matter(cross, published):
    """The same vertical force further back leaves the equilibrium as it is and changes the upper link by F a/h."""
    unit = carrier_only()
    unit = replace(unit, disc=replace(unit.disc, boot_vertical=10e3))
    back = replace(unit, disc=replace(unit.disc, boot=(unit.disc.boot[0] - 0.3, unit.disc.boot[1])))
    level = Settings(toolbar="level")
    a, b = cross("flat", level, unit), cross("flat", level, back)
    assert b.setting.crank_angle == pytest.approx(a.setting.crank_angle, abs=1e-12)
    assert np.abs(b.series["arm_angle"] - a.series["arm_angle"]).max() < 1e-12
    force = 10e3 * 0.040
    change = (b.pins - a.pins)[-1]
    published(
        "pull in the upper link when 400 N moves 0.3 m back, F a/h", source=ARM, status="derived",
        value=force * 0.3 / unit.main_links.spacing, ours=abs(change[1, 0]), unit="N", rel=1e-9,
    )  # fmt: skip
    assert change[3, 0] == pytest.approx(-change[1, 0], abs=1e-6)
    assert np.abs(change[:4, 1]).max() < 1e-6


def test_a_couple_on_the_carrier_does_not_turn_the_arm(cross):
    """The press arm's preload is a pure couple on the carrier while its wheel hangs free against the spring."""
    level = Settings(toolbar="level")
    unit = carrier_only()
    stiffer = replace(unit, press_wheel=replace(unit.press_wheel, preload=500.0, spring_angle=0.05))
    a, b = cross("flat", level, unit), cross("flat", level, stiffer)
    assert b.series["press_load"].max() == 0.0
    assert b.setting.gauge_load == pytest.approx(a.setting.gauge_load, rel=1e-9)


@every("degrees", [-20.0, 0.0, 15.0])
def test_downforce_of_the_cylinder(published, degrees):
    """F dl/dθ/(L cos θ) with the slope of the cylinder's length by central differences."""
    angle = math.radians(degrees)
    unit = replace(Unit(), main_links=MainLinks(angle_nominal=angle))
    slope = (cylinder_length(unit, angle + 1e-5) - cylinder_length(unit, angle - 1e-5)) / 2e-5
    force = 60e5 * math.pi / 4 * 0.032**2
    published(
        f"downforce at 60 bar and {degrees:g}°", source=ARM, status="derived",
        value=abs(force * slope) / (0.55 * math.cos(angle)), ours=downforce(unit, 60e5), unit="N", rel=1e-8,
    )  # fmt: skip


def test_lift_off_speed_over_waves(published):
    """A rigid follower leaves the crest at v = (λ/2π)√((g + F_d/m)/A): λ 0.5 m, A 20 mm, F_d/m 10 m/s².

    The full march on stiff tyre and soil, wheel of no radius, steady downforce. The crest load is linear in v²
    below lift-off; two speeds give the speed at which it vanishes, a third shows the wheel in the air above it.
    The wheel feels the surface averaged over its contact: the ground's waves are higher by what that takes.
    """
    wave, amplitude, mass = 0.5, 0.02, 100.0
    laid = amplitude / np.sinc(CONTACT_LENGTH / wave)
    unit = point_wheel(reduced_unit.steady_push(carrier_only(mass)), 2e7)
    soil = linear_soil(unit, 2e7)
    track = flat_track(3.0, 1e20, dx=0.0025)
    u = np.clip((track.x + 12.0) / 8.0, 0.0, 1.0)
    track = replace(track, ground=laid * np.sin(2 * np.pi * track.x / wave) * u * u * (3 - 2 * u))
    value = wave / (2 * math.pi) * math.sqrt((GRAVITY + 10.0) / amplitude)
    assert value == pytest.approx(2.504, abs=1e-3)

    def crest_load(share: float) -> tuple[float, float]:
        speed = share * value
        settings = pushing(unit, 10.0 * mass, speed=speed, reference_speed=speed)
        run = simulate(unit, soil, track, settings, step=1e-4)
        load = run.series["gauge_load"]
        return speed**2, load.min() / (mass * (GRAVITY + 10.0))

    (x1, y1), (x2, y2) = crest_load(0.8), crest_load(0.95)
    ours = math.sqrt(x1 + y1 * (x2 - x1) / (y1 - y2))
    published(
        "lift-off speed, λ 0.5 m, A 20 mm, F_d/m 10 m/s²", source="rigid follower, elementary mechanics",
        status="derived", value=2.504, ours=ours, unit="m/s", rel=0.01,
    )  # fmt: skip
    assert y1 == pytest.approx(1.0 - 0.8**2, abs=0.02)
    assert crest_load(1.05)[1] == 0.0
