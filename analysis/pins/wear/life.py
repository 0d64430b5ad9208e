"""How long bushes last at a farm's hectares a year, and what would give them longer."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from analysis.pins.bush.bush_sums import MAIN
from analysis.pins.bush.bushes import BushDuty, bush_duties
from analysis.pins.duty.duty import Duty
from analysis.pins.wear.law import COSINE, factors, lubricated_share, middle, mixing
from analysis.pins.wear.limits import Asked, asked
from analysis.pins.wear.materials import MATERIALS, Span
from analysis.pins.wear.stretch import Stretch
from sim.record import PINS, Run
from sim.unit import Settings, Unit

HECTARES_PER_METRE = 250.0  # of working width a year, where nobody says: assumed, of the order of a broadacre farm
PRACTICE = (7.0, 10.0)  # years that well-built, greased main pins last on a broadacre farm: common practice
SPANS = (1.0, 40.0)  # of a pin, in lengths of its bush, within which a span is looked for


@dataclass(frozen=True)
class Farm:
    """A year's work of one row."""

    hectares: float  # of the whole machine
    width: float  # it works [m]
    travel: float  # [m]
    hours: float  # in the ground [h]
    lubricated: float  # share of the travel in which a greased bush has grease
    grease_lasts: float  # travel that one greasing lasts [m]
    given: bool  # the user said how many hectares

    @property
    def per_hectare(self) -> float:
        """Travel of a row for each hectare that the machine does [m]."""
        return self.travel / self.hectares


def farm(width: float, unit: Unit, settings: Settings, hectares: float | None) -> Farm:
    """A year of so many hectares (None: `HECTARES_PER_METRE` of working width [m]) with these settings."""
    given = hectares is not None
    area = HECTARES_PER_METRE * width if hectares is None else hectares
    travel = area * 1e4 / width
    lasts = unit.pins.grease_lasts * settings.reference_speed
    share = lubricated_share(travel, unit.pins.greasings_a_year, lasts)
    return Farm(area, width, travel, travel / settings.speed / 3600.0, share, lasts, given)


@dataclass(frozen=True)
class PinLife:
    """One pin: what its worse bush bears, what that asks, how it wears. Ranges as lowest and highest.

    The range of wear holds that of the wear factor and, for the main pins, that of who takes the couples: all upper,
    equal, all lower. A pin that does not turn has no wear here: None.
    """

    duty: BushDuty
    asked: tuple[Asked, ...]
    factor: Span  # [m²/N]
    worn: Span  # ∫ F |dθ| of the worse bush per travel [N rad/m]: range of the sharing
    wear_per_hectare: Span | None  # [m]
    years: Span | None  # to the worn-out play

    @property
    def name(self) -> str:
        """As in `sim.record.PINS`."""
        return self.duty.name

    @property
    def limit(self) -> str:
        """What limits it: the first thing asked that is passed, else wear, or the nearest where it does not wear."""
        if self.asked[0].share > 1.0 or self.years is None:
            return self.asked[0].name
        return "wear"

    @property
    def middle_years(self) -> float:
        """Middle of the range, by ratio; infinite where it does not wear."""
        return math.inf if self.years is None else middle(self.years)


@dataclass(frozen=True)
class Pins:
    """All pins of a crossing over a year's work, in the order of PINS."""

    unit: Unit
    speed: float  # [m/s]
    farm: Farm
    lives: tuple[PinLife, ...]

    @property
    def first(self) -> PinLife:
        """The pin that wears out first, by the middle of its range."""
        return min(self.lives, key=lambda life: life.middle_years)

    @property
    def first_main(self) -> PinLife:
        """Of the main pins."""
        return min(self.lives[: len(MAIN)], key=lambda life: life.middle_years)

    @property
    def passed(self) -> tuple[PinLife, ...]:
        """Pins that are asked for more than they bear."""
        return tuple(life for life in self.lives if life.asked[0].share > 1.0)

    def named(self, name: str) -> PinLife:
        """The life of one pin."""
        return self.lives[PINS.index(name)]


def pin_lives(
    over: Stretch, width: float, hectares: float | None = None, duties: tuple[Duty, ...] | None = None
) -> Pins:
    """Pins over a year of so many hectares (`farm`) like a stretch; duties: the stretch's, where they are there."""
    year = farm(width, over.unit, over.settings, hectares)
    lives = []
    for told in over.bushes(over.duties() if duties is None else duties):
        worn = [told.worn, *over.worn_range(told.name)]
        lives.append(life_of(told, (min(worn), max(worn)), year, over.unit, over.settings.speed))
    return Pins(over.unit, over.settings.speed, year, tuple(lives))


def life_of(duty: BushDuty, worn: Span, year: Farm, unit: Unit, speed: float) -> PinLife:
    """Life of one pin; worn: range of ∫ F |dθ| of its worse bush per travel [N rad/m]; speed of travel [m/s]."""
    pins = unit.pins
    factor = factors(duty.pin, year.lubricated)
    wear: Span | None = None
    years: Span | None = None
    if duty.sliding > 0.0:
        # w = k (4/π) F/(dL) s with s = d/2 θ: the diameter falls out
        wear = tuple(
            k * COSINE * each / (2.0 * duty.pin.length) * year.per_hectare for k, each in zip(factor, worn, strict=True)
        )  # type: ignore[assignment]
        assert wear is not None
        years = tuple(pins.worn_out_play / (each * year.hectares) for each in reversed(wear))  # type: ignore[assignment]
    return PinLife(duty, asked(duty, speed, pins.pin_strength), factor, worn, wear, years)


@dataclass(frozen=True)
class Needed:
    """What a life in years would need of one pin, one thing changed at a time; None: cannot be had that way."""

    years: float
    factor: float  # wear factor [m²/N]
    length: Span  # bush length with the middle and with the highest wear factor [m]
    span: tuple[float | None, float | None]  # the same for the span [m]
    lubricated: float | None  # share of the travel, with the middle factors; below 0 or above 1: cannot be had
    greasings: float | None  # a year


def needed(run: Run, life: PinLife, year: Farm, years: float, *, spans: bool = True) -> Needed | None:
    """What a pin's bushes would need to last so many years; None for a pin that does not wear. spans: look for
    one too, by how wear falls with the span over `run`, one of the stretch.

    The diameter does not matter to wear: what it takes off the pressure it adds to the way slid.
    """
    if life.years is None:
        return None
    worn, pin = life.duty.worn, life.duty.pin
    allowed = run.unit.pins.worn_out_play / (years * year.travel) * 2.0 * pin.length / (COSINE * worn)
    tried = (middle(life.factor), life.factor[1])
    # length: in inverse proportion
    length = tuple(pin.length * k / allowed for k in tried)
    found = tuple(_span_for(run, life, worn * allowed / k) if spans else None for k in tried)
    wet, bare = (middle(span) for span in (MATERIALS[pin.material].lubricated, MATERIALS[pin.material].starved))
    share = (bare - allowed) / (bare - wet) if bare > wet else None
    lasts = year.grease_lasts
    greasings = share * year.travel / lasts if share is not None and lasts > 0.0 and mixing(pin, 0.5) == 0.5 else None
    return Needed(years, allowed, length, found, share, greasings)  # type: ignore[arg-type]


def _span_for(run: Run, life: PinLife, worn: float) -> float | None:
    """Span [m] at which the worse bush has only `worn` [N rad/m]; None where no span gives it, or none is there."""
    pin = life.duty.pin
    if pin.bushes == 1 or life.duty.couple_part == 0.0:
        return None

    def at(span: float) -> float:
        return bush_duties(run, (life.name,), pins={life.name: replace(pin, span=span)})[0].worn

    def over(log_span: float) -> float:
        return at(math.exp(log_span)) - aim

    aim = worn / life.duty.worn * at(pin.span)  # the run need not be as hard as the whole stretch
    low, high = (math.log(pin.length * share) for share in SPANS)
    if over(high) > 0.0:
        return None
    if over(low) <= 0.0:
        return math.exp(low)
    from scipy.optimize import brentq  # noqa: PLC0415 (a third of a second; each step is a crossing's reduction)

    return math.exp(float(brentq(over, low, high, xtol=0.005)))


def clearance(life: PinLife, year: Farm, seasons: Sequence[float]) -> list[Span | None]:
    """Play that wear has added after so many seasons, lowest and highest [m]."""
    wear = life.wear_per_hectare
    if wear is None:
        return [None for _ in seasons]
    return [(wear[0] * year.hectares * n, wear[1] * year.hectares * n) for n in seasons]
