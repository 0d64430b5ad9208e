"""Depth setting and equilibrium on flat ground: what is solved before a run."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from sim.arithmetic.bracket import MOST_STEPS, middle_of, narrowed, zero_between
from sim.arithmetic.compiled import kernel, routine
from sim.errors import EquilibriumError, LinkageError
from sim.hydraulics.cylinder import motion_ratio
from sim.laws.gas import GasLaw
from sim.laws.wheel_soil import settled
from sim.mechanism.bodies import accelerations, bodies
from sim.mechanism.forces import Ground, contact_forces, pushed
from sim.mechanism.kinematics import Bar, State, contact_points
from sim.mechanism.linkage import check_travel, closures, wheel_over_disc
from sim.mechanism.play import Lift, lifted
from sim.model import Model
from sim.record import DepthSetting
from sim.unit import ATMOSPHERE, Settings, Unit

CRANK_SCAN = np.radians(np.arange(70.0, 130.5, 1.0))  # crank angles tried for a setting [rad]
TRAVEL_MARGIN = math.radians(6)  # how far the arm may be pressed into its stops [rad]


class Rest(NamedTuple):
    """The unit standing still on flat ground."""

    load_th: float  # generalised force left on θ [N m]
    load_ps: float  # the same on ψ
    gauge_load: float  # [N]
    press_load: float
    disc: float  # F_z of the disc
    boot: float  # F_z of the boot
    dg: float  # tyre deflections [m]
    dp: float
    squash: float  # of the gauge wheel [m]
    over: float  # wheel bottom over disc bottom [m]
    arm_per_load: float  # ∂(wheel height)/∂θ: what one newton on the wheel gives on θ [m]
    ratio: float  # |dL/dθ|/(l cos θ)


@routine
def at_rest(m, law, z_bar, th, ps, strength, lift=None):
    """Unit at arm angle th and press angle ps over flat ground, tyres settled, toolbar level at z_bar → Rest.

    The disc law sees the model's travel speed. lift: the gauge wheel as worn pins hold it (None: no wear).
    """
    bar = Bar(0.0, z_bar, 0.0, 0.0, 0.0, 0.0, 0.0)
    y = State(th, 0.0, ps, 0.0, 0.0, 0.0, m.wall, 0.0)
    k = closures(m, th)
    pt = contact_points(m, bar, y, k, lift)
    share = strength * m.q_share
    dg = settled(m.gauge_r - pt.gz, m.gauge_k, m.gauge_soil_k * share, m.soil_n)
    dp = settled(m.press_r - pt.pz, m.press_k, m.press_soil_k * share, m.soil_n)
    y = State(th, 0.0, ps, 0.0, dg, dp, m.wall, 0.0)
    gr = Ground(0.0, -0.2, 0.0, 0.0, 0.0, 0.0, 0.0, strength, strength, 0.0, strength, 0.0, 0.0)
    f = contact_forces(m, bar, y, k, pt, gr, *pushed(m, law, y, k))
    b = bodies(m, bar, y, k, pt)
    acc = accelerations(m, bar, y, k, pt, f, b)
    squash = max(m.gauge_r - pt.gz, 0.0)
    over = lifted((pt.rgz - m.gauge_r) - (pt.rhz - m.disc_r), lift)
    boot = f.depth * m.boot_kz * strength * m.q_share
    per_load = k.u1z_t + k.beta_t * m.arm_l / m.lug * k.gx
    return Rest(
        acc.load_th, acc.load_ps, f.gauge_load, f.press_load, f.soil_z, boot, dg, dp, squash, over, per_load,
        motion_ratio(m, k),
    )  # fmt: skip


def nominal_height(unit: Unit, set_depth: float) -> float:
    """Height of O over flat ground [m] at which the disc is at the set depth with the arm at its nominal angle."""
    links, disc = unit.main_links, unit.disc
    z_hub = unit.toolbar.upper_pin[1] + links.length * math.sin(links.angle_nominal) + disc.hub[1]
    return disc.radius - set_depth - z_hub


def with_crank(m: Model, unit: Unit, crank_angle: float) -> Model:
    """The model with its crank locked at another angle [rad]."""
    arm = unit.depth_linkage.crank
    return m._replace(crank_x=m.pivot_x + arm * math.cos(crank_angle), crank_z=m.pivot_z + arm * math.sin(crank_angle))


@routine
def press_angle(m, law, z_bar, th, strength):
    """Press arm angle [rad] at rest: its spring and stops against the wheel's load (bracketed secant)."""
    low, high = m.press_down - 0.15, m.press_up + 0.15
    f_low = at_rest(m, law, z_bar, th, low, strength, None).load_ps
    f_high = at_rest(m, law, z_bar, th, high, strength, None).load_ps
    side = 0
    for _ in range(MOST_STEPS):
        middle = middle_of(low, f_low, high, f_high)
        f = at_rest(m, law, z_bar, th, middle, strength, None).load_ps
        if f == 0.0 or high - low < 1e-15:
            return middle
        low, f_low, high, f_high, side = narrowed(middle, f, low, f_low, high, f_high, side)
    return 0.5 * (low + high)


@routine
def _arm_load(m, law, z_bar, th, strength, lift):
    """Generalised force left on the arm at rest [N m], press arm settled."""
    return at_rest(m, law, z_bar, th, press_angle(m, law, z_bar, th, strength), strength, lift).load_th


@routine
def _falling_zero(m, law, z_bar, low, f_low, high, f_high, strength, lift):
    """Arm angle between low and high at which the load falls through zero (bracketed secant)."""
    side = 0
    for _ in range(MOST_STEPS):
        middle = middle_of(low, f_low, high, f_high)
        if high - low < 1e-15 or middle in (low, high):
            break
        f = _arm_load(m, law, z_bar, middle, strength, lift)
        if f == 0.0:
            return middle
        low, f_low, high, f_high, side = narrowed(middle, f, low, f_low, high, f_high, side)
    return 0.5 * (low + high)


@routine
def _rest_angle(m, law, z_bar, grid, nominal, strength, lift):
    """Arm angle at rest nearest to the nominal one, where the load falls through zero; NaN where there is none.

    The grid is looked through from the nominal angle outwards, no further than a nearer one may lie.
    """
    best = np.nan
    above, last = 0, grid.size - 1
    while above < last and grid[above + 1] <= nominal:
        above += 1
    below = above
    f_above = f_below = _arm_load(m, law, z_bar, grid[above], strength, lift)
    while below > 0 or above < last:
        up = grid[above] - nominal if above < last else np.inf
        down = nominal - grid[below] if below > 0 else np.inf
        if abs(best - nominal) < min(up, down):
            break
        upwards = up <= down
        at = above if upwards else below - 1  # number of the cell: from its lower end to the next
        f = _arm_load(m, law, z_bar, grid[at + 1] if upwards else grid[at], strength, lift)
        f_low, f_high = (f_above, f) if upwards else (f, f_below)
        if upwards:
            above, f_above = above + 1, f
        else:
            below, f_below = below - 1, f
        if f_low > 0.0 and f_high <= 0.0:
            root = _falling_zero(m, law, z_bar, grid[at], f_low, grid[at + 1], f_high, strength, lift)
            if not (abs(best - nominal) < abs(root - nominal)):
                best = root
    return best


@kernel
def _settled(m, law, z_bar, grid, nominal, th, ps, strength, lift):
    """Arm and press arm angle and Rest there; an angle that is NaN is found first (NaN stays where there is none)."""
    if math.isnan(th):
        th = _rest_angle(m, law, z_bar, grid, nominal, strength, lift)
    if math.isnan(ps) and not math.isnan(th):
        ps = press_angle(m, law, z_bar, th, strength)
    return th, ps, at_rest(m, law, z_bar, th, ps, strength, lift)


NO_GRID = np.empty(0)


def rest_at(
    m: Model, law: GasLaw, z_bar: float, th: float, ps: float, strength: float, lift: Lift | None = None
) -> Rest:
    """`at_rest` from Python."""
    found: Rest = _settled(m, law, z_bar, NO_GRID, 0.0, th, ps, strength, lift)[2]
    return found


def _press_angle(m: Model, law: GasLaw, z_bar: float, th: float, strength: float) -> float:
    """`press_angle` from Python."""
    return float(_settled(m, law, z_bar, NO_GRID, 0.0, th, math.nan, strength, None)[1])


def _crossing(load: Callable[[float], float], grid: Sequence[float]) -> float | None:
    """First point of a grid at which `load` changes sign, refined; None where it does not."""
    before, f_before = grid[0], load(grid[0])
    for here in grid[1:]:
        f = load(here)
        if f_before == 0.0 or f_before * f < 0.0:
            return zero_between(load, before, here)
        before, f_before = here, f
    return None


@lru_cache(maxsize=64)
def _closable(unit: Unit) -> tuple[float, ...]:
    """Crank angles of the scan at which the linkage closes at the nominal arm angle [rad]; error where none does."""
    fine, last = [], None
    for angle in CRANK_SCAN:
        try:
            wheel_over_disc(unit, float(angle), unit.main_links.angle_nominal)
        except LinkageError as error:
            last = error
        else:
            fine.append(float(angle))
    if not fine and last is not None:
        raise last
    return tuple(fine)


def _clearance(unit: Unit, crank_angle: float, set_depth: float, raised: float) -> float:
    """Height of the wheel over the ground [m] with the disc at the set depth; raised: by worn pins [m]."""
    return wheel_over_disc(unit, crank_angle, unit.main_links.angle_nominal) + raised - set_depth


@lru_cache(maxsize=64)
def _touching(unit: Unit, set_depth: float, raised: float) -> float | None:
    """Crank angle [rad] at which the wheel touches the ground, whatever pressure and speed; None: there is none."""
    return _crossing(lambda alpha: _clearance(unit, alpha, set_depth, raised), _closable(unit))


def find_setting(
    unit: Unit, m: Model, law: GasLaw, settings: Settings, strength: float, lift: Lift | None = None
) -> DepthSetting:
    """Crank angle that holds the set depth on flat ground of this strength [Pa] at the model's pressure and speed.

    lift: of worn pins as they lie at the setting, with nothing else (`sim.worn`).
    Where even an unloaded wheel leaves the disc short of the depth, the wheel is set to touch at that depth and
    `reached` is False. Raises LinkageError where no crank angle between 70° and 130° does, or the linkage comes
    near a change point over the arm's travel.
    """
    z_bar = nominal_height(unit, settings.set_depth)
    nominal = unit.main_links.angle_nominal
    grid = _closable(unit)
    ps = _press_angle(with_crank(m, unit, grid[0]), law, z_bar, nominal, strength)

    def load(alpha: float) -> float:
        return float(rest_at(with_crank(m, unit, alpha), law, z_bar, nominal, ps, strength, lift).load_th)

    raised = 0.0 if lift is None else lift.height
    touching = _touching(unit, settings.set_depth, raised)
    if touching is None:
        raise LinkageError(
            f"depth {settings.set_depth * 1e3:.0f} mm cannot be set: no crank angle brings the gauge wheel to the "
            "ground; allowed: crank angles of 70° to 130°; try: settings.set_depth_mm nearer to the default, or "
            f"another unit.depth_linkage.turnbuckle_m than {unit.depth_linkage.turnbuckle:g}"
        )
    reached = load(touching) <= 0.0
    alpha: float | None = touching
    if reached:
        # the side on which the wheel is pressed into the ground
        lower = _clearance(unit, touching + 1e-4, settings.set_depth, raised) < 0.0
        pressed = [a for a in grid if a > touching] if lower else [a for a in reversed(grid) if a < touching]
        alpha = _crossing(load, [touching, *pressed])
        if alpha is None:
            raise LinkageError(
                f"depth {settings.set_depth * 1e3:.0f} mm cannot be set: with no crank angle the gauge wheel carries "
                f"the unit at {settings.oil_pressure / 1e5:g} bar; allowed: crank angles of 70° to 130°; try: less "
                "settings.oil_pressure_bar (and reference_pressure_bar), or another "
                f"unit.depth_linkage.turnbuckle_m than {unit.depth_linkage.turnbuckle:g}"
            )
    assert alpha is not None
    check_travel(unit, alpha)
    rest = rest_at(with_crank(m, unit, alpha), law, z_bar, nominal, ps, strength, lift)
    return DepthSetting(alpha, z_bar, rest.squash, rest.over, rest.gauge_load, ps, reached)


def spare_weight(
    unit: Unit, m: Model, law: GasLaw, setting: DepthSetting, strength: float, lift: Lift | None = None
) -> float:
    """W_v [N]: what the unit would press on the ground at the setting with no oil pressure.

    Sum of wheel, press wheel, disc and boot loads less the cylinder's share; where the set depth is not reached,
    the wheel load that would be needed (negative) takes its place.
    """
    nominal = unit.main_links.angle_nominal
    mm = with_crank(m, unit, setting.crank_angle)
    rest = rest_at(mm, law, setting.toolbar_height, nominal, setting.press_angle, strength, lift)
    wheel = rest.gauge_load - rest.load_th / rest.arm_per_load
    return wheel + rest.press_load + rest.disc + rest.boot - (m.p_set - ATMOSPHERE) * m.area * rest.ratio


def equilibrium(
    unit: Unit, m: Model, law: GasLaw, z_bar: float, strength: float, lift: Lift | None = None
) -> tuple[float, float]:
    """Arm and press arm angle [rad] at rest on flat ground, nearest to the nominal arm angle; lift as `at_rest`.

    Raises EquilibriumError where there is none between the travel stops.
    """
    links = unit.main_links
    grid = np.linspace(links.stop_down - TRAVEL_MARGIN, links.stop_up + TRAVEL_MARGIN, 69)
    th, ps, _ = _settled(m, law, z_bar, grid, links.angle_nominal, math.nan, math.nan, strength, lift)
    if math.isnan(th):
        raise EquilibriumError(
            "the unit finds no equilibrium on flat ground; allowed: one between unit.main_links.stop_down_deg "
            f"({math.degrees(links.stop_down):g}) and stop_up_deg ({math.degrees(links.stop_up):g}); try: "
            "settings.oil_pressure_bar and settings.set_depth_mm nearer to the defaults, then masses and "
            "unit.cylinder's pins"
        )
    return float(th), float(ps)
