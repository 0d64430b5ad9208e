"""What a run keeps: the names of the channels and of the pins, and the frozen result `Run`."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Annotated, Any, NamedTuple, get_type_hints

import numpy as np
from numpy.typing import NDArray

from sim.track import Track
from sim.unit import Settings, Soil, Unit


class Channels(NamedTuple):
    """One instant of a run; the metadata of a field are its unit [SI] and its meaning."""

    time: Annotated[float, "s", "time since the start of the lead-in"]
    distance: Annotated[float, "m", "ground position of the disc's lowest point"]
    toolbar_height: Annotated[float, "m", "height of the toolbar's centre of mass O"]
    pitch: Annotated[float, "rad", "pitch of the toolbar, nose up positive"]
    arm_angle: Annotated[float, "rad", "arm angle θ, rear end up positive"]
    arm_rate: Annotated[float, "rad/s", "rate of θ"]
    press_angle: Annotated[float, "rad", "press arm angle ψ, rear end up positive"]
    press_rate: Annotated[float, "rad/s", "rate of ψ"]
    depth: Annotated[float, "m", "depth of the disc's lowest point below the undisturbed surface"]
    ground_shape: Annotated[float, "m", "part of the depth error: h(disc) − envelope(gauge wheel)"]
    tyre_and_sinkage: Annotated[float, "m", "part of the depth error: squash − squash at the setting"]
    linkage: Annotated[float, "m", "part of the depth error: wheel over disc, level, against the setting"]
    toolbar_pitch: Annotated[float, "m", "part of the depth error: what the toolbar's pitch adds to that"]
    lift_off: Annotated[float, "m", "part of the depth error: −gap under the gauge wheel"]
    gauge_load: Annotated[
        float, "N", "vertical part of the ground's force on the gauge wheel before rolling resistance"
    ]
    press_load: Annotated[float, "N", "the same for the press wheel"]
    press_squash: Annotated[float, "m", "tyre deflection + sinkage of the press wheel"]
    disc_vertical: Annotated[float, "N", "soil force on the disc, up positive, without stones"]
    disc_draught: Annotated[float, "N", "soil force on the disc, forward positive, without stones"]
    side_load: Annotated[float, "N", "soil force on the disc's face, out of the plane; 0 with two blades"]
    disc_slip: Annotated[float, "1", "1 where the soil cannot turn the disc against its drag, else 0"]
    rock_force: Annotated[float, "N", "size of the force of a stone on the disc"]
    stone_gives_way: Annotated[float, "1", "1 where the stone met gives way or did since the instant before, else 0"]
    stop_force: Annotated[float, "N", "force of a main travel stop on the lower link, square to it"]
    spare_load: Annotated[
        float, "N", "gauge load that a steady unit would have here (N_st; ≤ 0: too hard for the pressure)"
    ]
    oil_pressure: Annotated[float, "Pa", "oil pressure at the accumulator, absolute"]
    cylinder_pressure: Annotated[float, "Pa", "oil pressure in the cylinder, absolute"]
    cylinder_force: Annotated[float, "N", "force that pushes the cylinder's pins apart"]
    gas_volume: Annotated[float, "m3", "gas volume V asked for by the piston (above V_acc: out of oil)"]
    gas_temperature: Annotated[float, "K", "gas temperature"]
    carrier_acceleration: Annotated[float, "m/s2", "vertical acceleration of the disc's hub, gravity left out"]


class Channel(NamedTuple):
    """Name, unit [SI] and meaning of a recorded series."""

    name: str
    unit: str
    doc: str


CHANNELS: tuple[Channel, ...] = tuple(
    Channel(name, *hint.__metadata__) for name, hint in get_type_hints(Channels, include_extras=True).items()
)
CHANNEL: Any = Channels(*range(len(CHANNELS)))
"""Column of each channel in an array of instants, by name."""


class Sums(NamedTuple):
    """Running sums of a march [J]: the toolbar's work on the unit, ∫|its power| dt, then losses and gains."""

    work: float
    traffic: float
    soil: float
    sinkage: float
    rolling: float
    tyre: float
    rock: float
    stops: float
    press_damper: float
    seal_friction: float
    orifice: float
    atmosphere: float
    heat: float
    valve: float
    column: float
    play: float


SUM: Any = Sums(*range(len(Sums._fields)))
"""Place of each sum in an array of them, by name."""

LOSSES = Sums._fields[2:]  # by name, gains among them
GAINS = ("heat", "valve", "column")  # what is brought rather than lost: told with the other sign

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
    sampled_share: float = 0.0  # of moving bodies and tyres alone, from powers read once a step, as rows have it

    @property
    def residual_share(self) -> float:
        """|residual| as a share of the traffic."""
        return abs(self.residual) / max(self.traffic, 1e-9)


def energy_of(sums: NDArray[np.float64], stored: float, sampled_share: float = 0.0) -> Energy:
    """The balance from a march's sums (16,) in the order of `Sums` and the change of stored energy [J]."""
    total = Sums(*sums.tolist())
    losses = {name: -value if name in GAINS else value for name, value in zip(LOSSES, total[2:], strict=True)}
    return Energy(
        total.work, total.traffic, float(stored), losses, total.work - stored - sum(losses.values()), sampled_share
    )


@dataclass(frozen=True, repr=False)
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

    def __repr__(self) -> str:
        s, length = self.settings, self.track.x_to - self.track.x_from
        return (
            f"{type(self).__name__}: {s.oil_pressure / 1e5:.6g} bar, {s.speed * 3.6:.6g} km/h, "
            f"set depth {s.set_depth * 1e3:.6g} mm, {length:.6g} m ({self.engine})"
        )

    def pin_load(self, name: str) -> NDArray[np.float64]:
        """Size of one pin's reaction over the run, shape (n,) [N]."""
        return np.hypot(*self.pins[:, PINS.index(name), :].T)
