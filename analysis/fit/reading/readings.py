"""Readings: each kind described once, and what a line of a file of readings says.

A kind says what its value may be, which columns have to be filled beside it, what a single reading of it is wrong by,
and what it tells of. Errors are standard deviations; all of them are assumed.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from sim.unit import GRAVITY

AT_A_SETTING = ("oil_pressure_bar", "speed_kmh", "setting")


@dataclass(frozen=True)
class Kind:
    """One kind of reading; its value in a file times `factor` is SI."""

    name: str  # in the column `what`
    unit: str  # of the file
    factor: float
    low: float  # of the file's unit
    high: float
    words: str
    many: str  # several of them in words
    needs: tuple[str, ...] = ()  # columns that have to be filled
    error: float = 0.0  # of one reading [SI]
    share: float = 0.0  # of one reading, as a share of it
    hint: str = ""  # what to try where a value is out of range

    @property
    def crosses(self) -> bool:
        """Whether it is predicted by crossings of the ground."""
        return "setting" in self.needs

    @property
    def allowed(self) -> str:
        """What its value may be, in words."""
        return f"{self.low:g} to {self.high:g}{' ' if self.unit else ''}{self.unit} for {self.name}"


KINDS = {
    kind.name: kind
    for kind in (
        Kind(
            "depth_mm", "mm", 1e-3, 0.0, 150.0, "depth of the slot", "digs", AT_A_SETTING,
            hint="is it in millimetres, from the surface down to the bottom of the slot?",
        ),
        Kind(
            "seed_depth_mm", "mm", 1e-3, 0.0, 150.0, "depth of the seed", "digs", (*AT_A_SETTING, "slot_deeper_mm"),
            hint="is it in millimetres?",
        ),
        Kind(
            "wheel_off_share", "", 1.0, 0.0, 1.0, "share with the wheel off", "measured lengths",
            (*AT_A_SETTING, "length_m"), error=0.01, hint="a share, not per cent: 0.05 for 5 %",
        ),
        Kind(
            "gauge_load_N", "N", 1.0, 1.0, 20000.0, "mean gauge load", "measured lengths",
            (*AT_A_SETTING, "length_m"), share=0.03, hint="is it in newtons? 1 kg weighs 9.81 N",
        ),
        Kind(
            "gauge_load_cv", "", 1.0, 0.01, 3.0, "scatter of the gauge load", "measured lengths",
            (*AT_A_SETTING, "length_m"), share=0.05, hint="standard deviation over mean, not per cent",
        ),
        Kind(
            "draught_N", "N", 1.0, 1.0, 50000.0, "pull of the row", "measured lengths",
            (*AT_A_SETTING, "length_m"), share=0.05, hint="is it in newtons, of one row?",
        ),
        Kind(
            "scale_kg", "kg", GRAVITY, 1.0, 3000.0, "weight on a scale", "weighings", ("oil_pressure_bar",),
            share=0.01, hint="is it in kilograms?",
        ),
        Kind(
            "penetrometer_MPa", "MPa", 1e6, 0.05, 10.0, "cone index", "pushes", share=0.05,
            hint="is it in MPa? 1 MPa = 1000 kPa",
        ),
    )
}  # fmt: skip


@dataclass(frozen=True)
class Reading:
    """One line of a file of readings, SI units; NaN where a column is empty or not there."""

    line: int
    what: str  # name of its kind
    value: float
    n: int  # single readings that the value is the mean of
    sd: float  # of the single readings
    oil_pressure: float  # gauge [Pa]
    speed: float  # [m/s]
    setting: str
    length: float  # [m]
    at: float  # place along the row [m]
    row: int  # 0: not said
    where: str

    @property
    def kind(self) -> Kind:
        """Its kind."""
        return KINDS[self.what]

    @property
    def held(self) -> str:
        """The depth setting that it was made at: its name, with the row where rows are told apart."""
        return f"{self.setting}, row {self.row}" if self.row else self.setting


@dataclass(frozen=True)
class Measured:
    """All readings of a file, as they stand in it, and what is to be said of them."""

    path: Path
    readings: tuple[Reading, ...]
    notes: tuple[str, ...] = ()

    @property
    def count(self) -> int:
        """Single readings in all."""
        return sum(reading.n for reading in self.readings)

    @property
    def held(self) -> tuple[str, ...]:
        """Depth settings in the order in which they come."""
        return tuple(dict.fromkeys(r.held for r in self.readings if r.kind.crosses))


def uncrossed(readings: Iterable[Reading]) -> tuple[str, ...]:
    """Depth settings at which no second pressure or speed was read: their mean depth says nothing about the soil."""
    met: dict[str, set[tuple[float, float]]] = {}
    for reading in readings:
        if reading.kind.crosses:
            met.setdefault(reading.held, set()).add((reading.oil_pressure, reading.speed))
    return tuple(held for held, places in met.items() if len(places) < 2)
