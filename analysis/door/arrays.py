"""Runs and windows as datasets of xarray, which is imported when one is asked for."""

from __future__ import annotations

from types import ModuleType
from typing import TYPE_CHECKING, Any

from analysis.present.edge import bar, kmh, mm
from analysis.version import VERSION
from analysis.window.grid import Window
from scenarios.scenario import Scenario
from sim.record import CHANNELS, PINS, Run

if TYPE_CHECKING:
    from xarray import Dataset

CONVENTIONS = "CF-1.11"

# measure of a window → unit [SI] and meaning
MEASURES: dict[str, tuple[str, str]] = {
    "on_depth_share": ("1", "share of travel on depth, depth set again"),
    "on_depth_share_unchanged_setting": ("1", "the same, depth setting left as made at the reference"),
    "error_sd": ("m", "standard deviation of the depth error"),
    "depth_mean": ("m", "mean depth"),
    "wheel_off_share": ("1", "share of travel with the gauge wheel off the ground"),
    "gauge_load_mean": ("N", "mean load on the gauge wheel"),
    "wheel_off_episodes": ("1", "number of wheel-off episodes"),
    "breakouts": ("1", "number of breakouts"),
    "distance": ("m", "measured length"),
    "pin_peak": ("N", "largest load on any pin"),
    "pressure_max": ("Pa", "highest oil pressure at the accumulator, gauge"),
    "rock_peak": ("N", "largest force of a stone on the disc"),
    "setting_change": ("m", "change of the depth setting against the reference, positive = set deeper"),
    "reached": ("1", "1 where the depth can be set at this pressure and speed"),
}


def run_dataset(run: Run, scenario: Scenario) -> Dataset:
    """A run as (distance), `pins` as (distance, pin, axis), SI; see `analysis.door.run.Run.to_xarray`."""
    about = {c.name: {"units": c.unit, "long_name": c.doc} for c in CHANNELS}
    along = {name: ("distance", run.series[name].copy(), about[name]) for name in about}
    pins = {"units": "N", "long_name": "force of the first-named part on the second at each pin, toolbar axes"}
    actuator = {"units": "N", "long_name": "force in the depth actuator, compression positive"}
    s = run.settings
    return _xarray().Dataset(
        {
            **{name: value for name, value in along.items() if name not in ("distance", "time")},
            "pins": (("distance", "pin", "axis"), run.pins.copy(), pins),
            "actuator": ("distance", run.actuator.copy(), actuator),
        },
        coords={
            "distance": along["distance"],
            "time": along["time"],
            "pin": ("pin", list(PINS), {"long_name": "name of the pin"}),
            "axis": ("axis", ["x", "z"], {"long_name": "x forward, z up, in the toolbar's axes"}),
        },
        attrs={
            **_about(scenario), "oil_pressure_bar": bar(s.oil_pressure), "speed_kmh": kmh(s.speed),
            "set_depth_mm": mm(s.set_depth), "seed": scenario.seed, "engine": run.engine,
        },
    )  # fmt: skip


def window_dataset(window: Window, scenario: Scenario) -> Dataset:
    """A window as (oil_pressure_bar, speed_kmh, seed); see `analysis.door.window.Window.to_xarray`."""
    dims = ("oil_pressure_bar", "speed_kmh", "seed")
    data: dict[str, Any] = {
        name: (dims, window.grids[name].copy(), {"units": unit, "long_name": meaning})
        for name, (unit, meaning) in MEASURES.items()
    }
    force = {"units": "N", "long_name": "downforce of one row at the nominal arm angle"}
    return _xarray().Dataset(
        {**data, "downforce": (dims[0], window.downforce.copy(), force)},
        coords={
            dims[0]: (dims[0], [bar(p) for p in window.pressures], {"units": "bar", "long_name": "oil pressure"}),
            dims[1]: (dims[1], [kmh(v) for v in window.speeds], {"units": "km/h", "long_name": "speed"}),
            dims[2]: (dims[2], list(window.seeds), {"long_name": "number that random ground starts from"}),
        },
        attrs=_about(scenario),
    )


def _about(scenario: Scenario) -> dict[str, Any]:
    return {
        "Conventions": CONVENTIONS, "title": scenario.title, "source": f"rowbench {VERSION}",
        "scenario": scenario.name,
    }  # fmt: skip


def _xarray() -> ModuleType:
    try:
        import xarray  # noqa: PLC0415
    except ImportError:
        raise ImportError("to_xarray needs xarray, which is not installed; try: pip install xarray") from None
    return xarray
