"""What a paddock file says beyond a scenario: machine, passes, ground in plan, zones, settings to try. SI units.

Places in plan are (x, y) [m]: x along the passes from the start of the first one's measured stretch, y to the left of
its direction of travel, from the right-hand edge of the first pass. The same metadata as in `scenarios.spec`.
"""

from __future__ import annotations

from dataclasses import MISSING, dataclass, field
from typing import Any, ClassVar

from scenarios.format.described import choice, needed, optional, point, series, text, whole
from scenarios.ground.spec_ground import Survey, noise_filter, shortest_wave, survey_noise
from scenarios.ground.stone_field import ByTheHectare
from scenarios.spec import Machine, Roughness
from sim.unit import Rock, quantity

FAR = 1e5  # [m]


def place(doc: str, *, example: tuple[float, float]) -> Any:
    """A place in plan (x, y) [m] that has to be given."""
    return point("m", -FAR, FAR, doc, axes="x, y", example=example)


@dataclass(frozen=True, kw_only=True)
class PaddockMachine(Machine):
    """The machine: rows across, and the wheels that carry the toolbar; across counts from its middle, left positive."""

    rows: int = whole(36, 1, 200, "rows of the machine")
    front_wheels: tuple[float, ...] = series((-1.5, 1.5), "m", -30.0, 30.0, "places of the front wheels", edge="m")
    rear_wheels: tuple[float, ...] = series((-3.0, 3.0), "m", -30.0, 30.0, "places of the rear wheels", edge="m")
    roll_inertia: float = quantity(2.0e4, "kg m2", 10.0, 1e7, "moment of inertia of the toolbar in roll")

    def offset(self, row: int) -> float:
        """Place of a row (from 0, the leftmost) across from the middle [m], left positive."""
        return (0.5 * (self.rows - 1) - row) * self.row_spacing


@dataclass(frozen=True, kw_only=True)
class Passes:
    """Straight passes side by side, each as wide as the machine; or left out where measured lines are given."""

    count: int = whole(4, 1, 100_000, "passes side by side")
    length: float | None = optional("m", 5.0, 20_000.0, "measured length of each pass", example=300.0)
    direction: str = choice(
        "back_and_forth", ("back_and_forth", "one_way"), "every other pass the other way, or all one way"
    )
    section: float = quantity(10.0, "m", 1.0, 1000.0, "length of row that results are given for")
    latitude: float | None = optional("1", -84.0, 84.0, "latitude of place (0, 0), degrees north", example=-33.1)
    longitude: float | None = optional("1", -180.0, 180.0, "longitude of it, degrees east", example=148.2)
    heading: float = quantity(0.0, "rad", -6.3, 6.3, "direction of the first pass, clockwise from north", edge="deg")


@dataclass(frozen=True, kw_only=True)
class PlanHump:
    """One hump, a raised cosine in both directions; with a negative height a hollow."""

    kind: ClassVar[str] = "hump"
    at: tuple[float, float] = place("place of its top", example=(20.0, 4.0))
    height: float = needed("m", -2.0, 2.0, "height of its top; negative: a hollow", edge="mm", example=0.15)
    length: float = needed("m", 0.1, 500.0, "length from foot to foot along the passes", example=3.0)
    width: float = needed("m", 0.1, 500.0, "width from foot to foot across them", example=6.0)


@dataclass(frozen=True, kw_only=True)
class PlanBank:
    """A bank from one place to another, a raised cosine square to that line, its ends rounded over half its base."""

    kind: ClassVar[str] = "bank"
    start: tuple[float, float] = place("place at which it starts", example=(20.0, 4.0))
    end: tuple[float, float] = place("place at which it ends", example=(60.0, 20.0))
    height: float = needed("m", -2.0, 2.0, "height of its crest; negative: a channel", edge="mm", example=0.35)
    base: float = needed("m", 0.3, 100.0, "width from toe to toe, square to it", example=6.0)


@dataclass(frozen=True, kw_only=True)
class Ruts:
    """Ruts behind the wheel tracks, in every pass: flat over the middle half of their width, sides 3u² − 2u³."""

    kind: ClassVar[str] = "ruts"
    tracks: tuple[float, ...] = series(
        (-1.0, 1.0), "m", -30.0, 30.0, "places across from the machine's middle, left positive", edge="m"
    )
    depth: float = needed("m", -0.3, 0.6, "depth under the ground beside them", edge="mm", example=0.03)
    width: float = needed("m", 0.1, 3.0, "width from lip to lip", example=0.6)
    strength_share: float = quantity(1.0, "1", 0.1, 5.0, "strength in them over the strength beside them")


@dataclass(frozen=True, kw_only=True)
class StonePatch:
    """A patch of stones, an ellipse in plan: so many more (or fewer) stones than elsewhere."""

    kind: ClassVar[str] = "stone_patch"
    at: tuple[float, float] = place("place of its middle", example=(20.0, 4.0))
    length: float = needed("m", 0.5, FAR, "length along the passes", example=60.0)
    width: float = needed("m", 0.5, FAR, "width across them", example=20.0)
    stones_per_ha: float = needed("1/ha", 0.0, 1e6, "stones on a hectare in it", example=8000.0)


PlanFeature = PlanHump | PlanBank | Ruts | StonePatch


@dataclass(frozen=True, kw_only=True)
class PlanGround:
    """The ground in plan: everything named here is added together."""

    seed: int = whole(1, 0, 10**9, "number that all random ground, stones and strength start from")
    roughness: Roughness | None = None
    features: tuple[PlanFeature, ...] = ()


@dataclass(frozen=True, kw_only=True)
class PlanStones(ByTheHectare):
    """Stones by the hectare, half ellipsoids round in plan, 0.3 as high as long; rows cut those that they meet."""

    contact: Rock = field(default_factory=Rock)


@dataclass(frozen=True, kw_only=True)
class Zone:
    """A rectangle in plan with a name: soil of another strength, or a part that may be set by itself."""

    name: str = text(MISSING, "its name in tables and figures", example="clay rise")
    start: tuple[float, float] = place("one corner", example=(20.0, 4.0))
    end: tuple[float, float] = place("the opposite corner", example=(60.0, 20.0))
    strength: float | None = optional("Pa", 5e4, 1e7, "mean soil strength in it", edge="MPa", example=1.8e6)


@dataclass(frozen=True, kw_only=True)
class LineFile:
    """One measured pass: the ground under the middle of the machine."""

    file: str = text(
        MISSING,
        "CSV with distance_m, height_m (or latitude_deg, longitude_deg, elevation_m) and perhaps strength_MPa",
        example="pass_1.csv",
    )


@dataclass(frozen=True, kw_only=True)
class GridFile:
    """A gridded elevation model (GeoTIFF) under straight passes whose place (0, 0) is given."""

    file: str = text(MISSING, "GeoTIFF of heights in metres; needs rowbench[maps]", example="paddock.tif")
    band: int = whole(1, 1, 100, "band that holds the heights")


@dataclass(frozen=True, kw_only=True)
class SurfaceFile:
    """A measured surface along one line (OpenCRG): one pass, with a height of its own for every row."""

    file: str = text(MISSING, "OpenCRG file; needs rowbench[maps]", example="pass_1.crg")


@dataclass(frozen=True, kw_only=True)
class Measured:
    """Measured ground: lines, or a grid, or a surface. Roughness is added below its sampling, or below a filter."""

    lines: tuple[LineFile, ...] = ()
    grid: GridFile | None = None
    surface: SurfaceFile | None = None
    survey_noise: float | None = survey_noise()
    shortest_wave: float | None = shortest_wave()
    noise_filter: str = noise_filter()
    strength_file: str = text("", "CSV with x_m, y_m (or latitude_deg, longitude_deg) and strength_MPa: soil strength")

    @property
    def survey(self) -> Survey:
        """What is said of the survey."""
        return Survey(self.survey_noise, self.shortest_wave, self.noise_filter)


@dataclass(frozen=True, kw_only=True)
class Tried:
    """Settings that are tried: every pressure at every speed."""

    pressures: tuple[float, ...] = series((35e5, 40e5, 45e5), "Pa", 1e5, 250e5, "oil pressures to try", edge="bar")
    speeds: tuple[float, ...] = series((8.0 / 3.6,), "m/s", 1 / 3.6, 30 / 3.6, "speeds to try", edge="km/h")


@dataclass(frozen=True, kw_only=True)
class Keep:
    """What is kept beside the results by row and section."""

    series_every: float | None = optional(
        "m", 0.1, 1000.0, "depth error and gauge load at every so many metres; left out: none", example=1.0
    )
