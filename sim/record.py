"""What a run keeps: the names of the channels and of the pins, and the frozen result `Run`."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sim.track import Track
from sim.unit import Settings, Soil, Unit


class Channel(NamedTuple):
    """Name, unit [SI] and meaning of a recorded series."""

    name: str
    unit: str
    doc: str


CHANNELS: tuple[Channel, ...] = (
    Channel("time", "s", "time since the start of the lead-in"),
    Channel("distance", "m", "ground position of the disc's lowest point"),
    Channel("toolbar_height", "m", "height of the toolbar's centre of mass O"),
    Channel("pitch", "rad", "pitch of the toolbar, nose up positive"),
    Channel("arm_angle", "rad", "arm angle θ, rear end up positive"),
    Channel("arm_rate", "rad/s", "rate of θ"),
    Channel("press_angle", "rad", "press arm angle ψ, rear end up positive"),
    Channel("press_rate", "rad/s", "rate of ψ"),
    Channel("depth", "m", "depth of the disc's lowest point below the undisturbed surface"),
    Channel("ground_shape", "m", "part of the depth error: h(disc) − envelope(gauge wheel)"),
    Channel("tyre_and_sinkage", "m", "part of the depth error: squash − squash at the setting"),
    Channel("linkage", "m", "part of the depth error: wheel over disc, level, against the setting"),
    Channel("toolbar_pitch", "m", "part of the depth error: what the toolbar's pitch adds to that"),
    Channel("lift_off", "m", "part of the depth error: −gap under the gauge wheel"),
    Channel("gauge_load", "N", "vertical part of the ground's force on the gauge wheel before rolling resistance"),
    Channel("press_load", "N", "the same for the press wheel"),
    Channel("disc_vertical", "N", "soil force on the disc, up positive, without stones"),
    Channel("disc_draught", "N", "soil force on the disc, forward positive, without stones"),
    Channel("side_load", "N", "soil force on the disc's face, out of the plane"),
    Channel("disc_slip", "1", "1 where the soil cannot turn the disc against its drag, else 0"),
    Channel("rock_force", "N", "size of the force of a stone on the disc"),
    Channel("stop_force", "N", "force of a main travel stop on the lower link, square to it"),
    Channel(
        "spare_load",
        "N",
        "gauge load that a steady unit would have here (N_st; ≤ 0: too hard for the pressure)",
    ),
    Channel("oil_pressure", "Pa", "oil pressure at the accumulator, absolute"),
    Channel("cylinder_pressure", "Pa", "oil pressure in the cylinder, absolute"),
    Channel("cylinder_force", "N", "force that pushes the cylinder's pins apart"),
    Channel("gas_volume", "m3", "gas volume V asked for by the piston (above V_acc: out of oil)"),
    Channel("gas_temperature", "K", "gas temperature"),
    Channel("carrier_acceleration", "m/s2", "vertical acceleration of the disc's hub, gravity left out"),
)

PINS: tuple[str, ...] = (
    "main_upper_front",
    "main_upper_rear",
    "main_lower_front",
    "main_lower_rear",
    "cylinder_frame",
    "cylinder_arm",
    "crank",
    "rod_front",
    "rod_rear",
    "bell_crank",
    "turnbuckle_front",
    "turnbuckle_rear",
    "gauge_arm",
    "press_arm",
)

CAUSES: tuple[str, ...] = ("ground_shape", "tyre_and_sinkage", "linkage", "toolbar_pitch", "lift_off")


@dataclass(frozen=True)
class DepthSetting:
    """A depth setting found on flat reference ground."""

    crank_angle: float  # α [rad]
    toolbar_height: float  # height of O over the ground [m]
    squash: float  # tyre deflection + sinkage at the setting [m]
    wheel_over_disc: float  # wheel bottom over disc bottom at the setting, o [m]
    gauge_load: float  # [N]
    press_angle: float  # ψ [rad]
    reached: bool  # False: the pressure cannot hold the disc at the set depth even with no load on the wheel


@dataclass(frozen=True)
class Energy:
    """Energy balance of a run [J]; residual = toolbar work − change of stored energy − all losses."""

    work: float  # work of the toolbar on the unit
    traffic: float  # ∫|toolbar power| dt: the yardstick for the residual
    stored: float  # stored at the end − stored at the start
    losses: dict[str, float]  # by name: soil, boot, rolling, tyre, rock, friction, orifice, heat, ...
    residual: float

    @property
    def residual_share(self) -> float:
        """|residual| as a share of the traffic."""
        return abs(self.residual) / max(self.traffic, 1e-9)


@dataclass(frozen=True)
class Run:
    """One crossing: series over the measured stretch, and what belongs to the whole of it.

    `series[name]` has shape (n,), n steps; `pins` has shape (n, 14, 2): force of the first-named part on the second
    in toolbar axes (x forward, z up) [N], in the order of PINS.
    """

    unit: Unit
    soil: Soil
    settings: Settings
    track: Track
    setting: DepthSetting  # in force during the run
    reference: DepthSetting  # at the reference pressure and speed
    step: float  # [s]
    steps: int
    cut_steps: int  # steps cut into eight because a contact switched
    series: dict[str, NDArray[np.float64]]
    pins: NDArray[np.float64]
    actuator: NDArray[np.float64]  # force in the depth actuator, compression positive, (n,) [N]
    energy: Energy
    pin_residuals: dict[str, float]  # the two left-over equations and the toolbar's sum, largest size over the run
    downforce: float  # vertical force at the disc from the cylinder at the nominal arm angle [N]
    wall: float  # [s]
    compile_wall: float  # [s]
    engine: str = "compiled"
    warnings: tuple[str, ...] = field(default=())

    def pin_load(self, name: str) -> NDArray[np.float64]:
        """Size of one pin's reaction over the run, shape (n,) [N]."""
        return np.hypot(*self.pins[:, PINS.index(name), :].T)
