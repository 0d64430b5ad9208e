"""What a scenario says about ground, stones, soil variation, machine, limits and search: frozen dataclasses in SI.

Each field carries the same metadata as those of `sim.unit` (unit, range, edge unit, meaning, source), plus what a
file needs: `choices` for a word, `needed` for a key without default, `rising` for a pair of bounds. The file
format (`scenarios.tables`) is built from it.
"""

from __future__ import annotations

from dataclasses import MISSING, dataclass, field, replace
from typing import Any, ClassVar

from sim.unit import Rock, quantity

ROUGHNESS_CLASSES = "ABCDEFGH"
CLASS_A_MEAN = 16e-6  # Gd(0.1 c/m) of class A, geometric mean [m³], ISO 8608 (one-sided; seen in public code)


def needed(unit: str, low: float, high: float, doc: str, *, edge: str = "", example: float) -> Any:
    """A number without default; `example` [SI] stands in the starter file."""
    meta = {"unit": unit, "low": low, "high": high, "doc": doc, "edge": edge or unit, "source": ""}
    return field(metadata={**meta, "needed": True, "example": example})


def optional(unit: str, low: float, high: float, doc: str, *, edge: str = "", example: float) -> Any:
    """A number that may be left out (None); `example` [SI] stands in the starter file."""
    meta = {"unit": unit, "low": low, "high": high, "doc": doc, "edge": edge or unit, "source": ""}
    return field(default=None, metadata={**meta, "example": example})


def whole(default: int, low: int, high: int, doc: str, *, source: str = "assumed") -> Any:
    """A whole number without unit."""
    meta = {"unit": "1", "low": low, "high": high, "doc": doc, "edge": "1", "source": source}
    return field(default=default, metadata=meta)


def choice(default: Any, choices: tuple[str, ...], doc: str, *, key: str = "", example: str = "") -> Any:
    """A word out of a list; `key` where the file's word is a keyword of Python."""
    meta = {"choices": choices, "doc": doc, "source": "", "key": key, "example": example}
    return field(default=default, metadata=meta)


def span(
    default: tuple[float, float],
    unit: str,
    low: float,
    high: float,
    doc: str,
    *,
    edge: str = "",
    source: str = "assumed",
) -> Any:
    """Two bounds, the lower one first."""
    meta = {"unit": unit, "low": low, "high": high, "doc": doc, "edge": edge or unit, "source": source}
    return field(default=default, metadata={**meta, "rising": True})


def series(default: tuple[float, ...], unit: str, low: float, high: float, doc: str, *, edge: str) -> Any:
    """Values to search: in a file a list, or a text "first:last:count"."""
    meta = {"unit": unit, "low": low, "high": high, "doc": doc, "edge": edge, "source": "assumed", "series": True}
    return field(default=default, metadata=meta)


def text(default: Any, doc: str, *, example: str = "") -> Any:
    """A line of text; MISSING as default: needed."""
    meta = {"doc": doc, "source": "", "text": True, "example": example, "needed": default is MISSING}
    return field(metadata=meta) if default is MISSING else field(default=default, metadata=meta)


@dataclass(frozen=True, kw_only=True)
class Hump:
    """One hump, a raised cosine: height·(1 + cos(2π(x − at)/length))/2 within half a length of its top."""

    kind: ClassVar[str] = "hump"
    at: float = needed("m", -1e6, 1e6, "distance of its top", example=50.0)
    height: float = needed("m", 0.001, 2.0, "height of its top over the ground beside it", edge="mm", example=0.15)
    length: float = needed("m", 0.1, 200.0, "length from foot to foot", example=3.0)


@dataclass(frozen=True, kw_only=True)
class Hollow:
    """One hollow: a hump upside down."""

    kind: ClassVar[str] = "hollow"
    at: float = needed("m", -1e6, 1e6, "distance of its lowest point", example=100.0)
    depth: float = needed("m", 0.001, 2.0, "depth of that point under the ground beside it", edge="mm", example=0.15)
    length: float = needed("m", 0.1, 200.0, "length from edge to edge", example=3.0)


@dataclass(frozen=True, kw_only=True)
class Sine:
    """Regular waves, amplitude·sin(2π(x − start)/wavelength), faded over half a wave where they start and end."""

    kind: ClassVar[str] = "sine"
    amplitude: float = needed("m", 0.0005, 1.0, "half the height from trough to crest", edge="mm", example=0.03)
    wavelength: float = needed("m", 0.05, 200.0, "length of one wave", example=2.0)
    start: float | None = optional("m", -1e6, 1e6, "distance at which they start; left out: everywhere", example=20.0)
    end: float | None = optional("m", -1e6, 1e6, "distance at which they end; left out: never", example=60.0)


@dataclass(frozen=True, kw_only=True)
class Gilgai:
    """Gilgai, random humps and hollows in turn: tops at half the height ± 40 %, half a wavelength ± 30 % apart."""

    kind: ClassVar[str] = "gilgai"
    height: float = needed("m", 0.001, 2.0, "mean height from hollow to hump", edge="mm", example=0.15)
    wavelength: float = needed("m", 0.5, 200.0, "mean distance from hump to hump", example=8.0)


@dataclass(frozen=True, kw_only=True)
class Drop:
    """The ground falls, smoothly as 3u² − 2u³, and stays down: the edge of a bank or a gully."""

    kind: ClassVar[str] = "drop"
    at: float = needed("m", -1e6, 1e6, "distance at which the fall begins", example=150.0)
    depth: float = needed("m", 0.001, 2.0, "how far the ground falls", edge="mm", example=0.3)
    length: float = needed("m", 0.1, 200.0, "length over which it falls", example=2.0)


Feature = Hump | Hollow | Sine | Gilgai | Drop
FEATURES: tuple[type, ...] = (Hump, Hollow, Sine, Gilgai, Drop)


@dataclass(frozen=True, kw_only=True)
class Roughness:
    """Random roughness Gd(n) = Gd(n0)·(n/n0)^−w, one-sided, n0 = 0.1 c/m (ISO 8608); by class or by Gd(n0)."""

    letter: str | None = choice(
        None, tuple(ROUGHNESS_CLASSES), "roughness class of ISO 8608, at its geometric mean", key="class", example="D"
    )
    gd_n0: float | None = optional(
        "m3", 1e-9, 1.0, "displacement density at 0.1 c/m, in place of a class", example=1024e-6
    )
    waviness: float = quantity(2.0, "1", 0.5, 4.0, "exponent w", source="ISO 8608; seen in public code")
    band: tuple[float, float] = span(
        (0.05, 10.0), "c/m", 0.01, 20.0, "spatial frequencies held",
        source="ISO 8608:2016 notes on range: off-road from 0.05, up to 10 c/m; seen",
    )  # fmt: skip

    @property
    def density(self) -> float:
        """Gd(0.1 c/m), one-sided [m³]; a class counts by its geometric mean, four times the class before."""
        if self.letter is None:
            return float(self.gd_n0 or 0.0)
        return CLASS_A_MEAN * 4.0 ** ROUGHNESS_CLASSES.index(self.letter)

    def scaled(self, factor: float) -> Roughness:
        """The same shape with Gd(n0) times `factor` (4 is one class up)."""
        return replace(self, letter=None, gd_n0=self.density * factor)


@dataclass(frozen=True, kw_only=True)
class ProfileFile:
    """Measured ground in place of (and added to) made-up ground."""

    file: str = text(MISSING, "CSV with distance_m, height_m and perhaps strength_MPa; path from this file's folder")


@dataclass(frozen=True, kw_only=True)
class Ground:
    """The ground: everything named here is added together."""

    length: float | None = optional(
        "m", 5.0, 20000.0, "measured length, after the lead-in; needed unless a profile gives it", example=300.0
    )
    seed: int = whole(1, 0, 10**9, "number that all random ground, stones and strength start from")
    features: tuple[Feature, ...] = ()
    roughness: Roughness | None = None
    profile: ProfileFile | None = None


@dataclass(frozen=True, kw_only=True)
class Variation:
    """Random strength along the track: exponential correlation, one-sided S = 4ℓσ²/(1 + (2πnℓ)²)."""

    variation_cv: float = quantity(
        0.25, "1", 0.0, 0.6, "coefficient of variation of the strength along the track; 0: constant"
    )
    correlation_length: float = quantity(
        1.0, "m", 0.1, 100.0, "distance over which the strength's correlation falls to 1/e"
    )


@dataclass(frozen=True, kw_only=True)
class PlacedStone:
    """One stone at a known place: half an ellipse, height 0.3 × length."""

    at: float = needed("m", -1e6, 1e6, "distance of its middle", example=80.0)
    length: float = needed("m", 0.03, 2.0, "its length along the track", example=0.3)
    top: float = needed("m", -0.3, 0.6, "height of its top over the ground; negative: buried", edge="mm", example=0.03)


@dataclass(frozen=True, kw_only=True)
class Stones:
    """Stones strewn at random (Poisson), placed ones, and the disc's contact with them."""

    rate_per_100m: float = quantity(0.0, "1/(100 m)", 0.0, 500.0, "stones on 100 m of one row's track")
    length: tuple[float, float] = span((0.10, 0.35), "m", 0.03, 2.0, "lengths, spread evenly")
    top: tuple[float, float] = span(
        (-0.050, 0.030),
        "m",
        -0.3,
        0.3,
        "heights of the top over the ground, spread evenly; negative: buried",
        edge="mm",
    )
    placed: tuple[PlacedStone, ...] = ()
    contact: Rock = field(default_factory=Rock)


@dataclass(frozen=True, kw_only=True)
class Machine:
    """The machine around the row; its mass on the toolbar's wheels stands in [unit.toolbar].

    `rows` are those whose downforce that mass has to hold down: rows × downforce is weighed against it.
    """

    rows: int = whole(8, 1, 200, "rows whose downforce the toolbar's mass (mass_kg in [unit.toolbar]) holds down")
    row_spacing: float = quantity(0.25, "m", 0.05, 2.0, "distance between rows")
    field_efficiency: float = quantity(
        0.70, "1", 0.1, 1.0, "share of the time that is spent seeding",
        source="typical of drills in ASABE D497; value from memory",
    )  # fmt: skip

    @property
    def width(self) -> float:
        """Working width [m]."""
        return self.rows * self.row_spacing

    def hectares_per_hour(self, speed: float) -> float:
        """Effective field capacity at a speed [m/s] → [ha/h]: width × speed × field efficiency."""
        return self.width * speed * 3600.0 / 1e4 * self.field_efficiency


@dataclass(frozen=True, kw_only=True)
class Limits:
    """What a setting has to meet; a limit that is left out (None) is not checked."""

    depth_tolerance: float = quantity(0.010, "m", 0.001, 0.05, "depth error that still counts as on depth", edge="mm")
    on_depth_share_min: float = quantity(0.90, "1", 0.0, 1.0, "least share of travel on depth")
    wheel_off_share_max: float = quantity(0.02, "1", 0.0, 1.0, "largest share of travel with the gauge wheel off")
    gauge_load_min: float = quantity(200.0, "N", 0.0, 1e4, "least mean load on the gauge wheel")
    gauge_load_max: float = quantity(1200.0, "N", 0.0, 2e4, "largest mean load on the gauge wheel")
    pin_peak_max: float | None = optional("N", 100.0, 1e6, "largest load on any pin", example=25e3)
    gas_pressure_max: float | None = optional(
        "Pa", 10e5, 500e5, "largest pressure in gas and oil", edge="bar", example=200e5
    )
    gas_pressure_warning: float = quantity(200e5, "Pa", 10e5, 500e5, "pressure above which a run warns", edge="bar")
    breakouts_per_km_max: float | None = optional("1/km", 0.0, 1e4, "most breakouts on a km of row", example=20.0)
    max_oil_pressure: float | None = optional(
        "Pa", 1e5, 250e5, "highest oil pressure that may be set", edge="bar", example=110e5
    )


@dataclass(frozen=True, kw_only=True)
class Search:
    """Pressures, speeds and seeds that a window tries."""

    pressures: tuple[float, ...] = series(
        tuple(p * 1e5 for p in (30, 40, 50, 60, 70, 80, 90)), "Pa", 1e5, 250e5, "oil pressures to try", edge="bar"
    )
    speeds: tuple[float, ...] = series(
        tuple(v / 3.6 for v in range(5, 13)), "m/s", 1 / 3.6, 30 / 3.6, "speeds to try", edge="km/h"
    )
    seeds: int = whole(3, 1, 1000, "grounds to try: the ground's seed and the numbers after it")
