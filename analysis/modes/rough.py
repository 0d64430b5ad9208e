"""Random ground: what it does by small motions (spectrum in, standard deviation out) and by the whole model.

By spectrum: ∫|H(n)|² S(n) dn over the band that the ground has, one-sided, for the heights (ISO 8608 as the scenario
has it) and for the strength of the soil (exponential correlation), which are random apart from each other, so that
their variances add. The drag of seals and fitting is a damper that takes as much of just this motion as they do.

Beside it the same small motions over the very ground that the whole model crosses (its Fourier transform, term by
term): what differs there is the model, not the draw. Where the two part by more than PART, small motions have ended.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.heed import warnings_of
from analysis.modes.drag import Drag, drag_of, settled
from analysis.modes.response import PISTON, Response, felt, felt_strength, with_rub
from analysis.modes.ridges import DEPTH, LOAD, along_pin
from scenarios.ground.roughness import density
from scenarios.ground.strength import FINEST
from scenarios.ground.synthesis import smooth_length
from scenarios.scenario import Scenario
from scenarios.spec import Roughness, Variation
from sim.errors import SimulationError
from sim.linear import AT, Linear
from sim.record import PINS, Run
from sim.run import simulate
from sim.track import Track

PART = 0.10  # difference from which on small motions and the whole model have parted
SCALED_LENGTH = 100.0  # of the grounds that are crossed to find where they part [m]
SCALED_PINS = ("main_lower_front",)
CLASSES = "BCDEF"
SHARES = (0.25, 0.5, 0.75, 1.0)  # of the file's variation of the strength

Values = NDArray[np.float64]
Complex = NDArray[np.complex128]


@dataclass(frozen=True)
class Spread:
    """Standard deviations on random ground."""

    depth: float  # [m]
    gauge_load: float  # [N]
    pins: dict[str, float]  # of each pin's load, along its load at rest [N]


@dataclass(frozen=True)
class Both:
    """Small motions and the whole model over one ground."""

    name: str  # of its class, "strength alone", or "" where it is the file's own
    small: Spread
    whole: Spread | None  # None: it could not be crossed
    wheel_off: float  # by the whole model, share of the way [1]
    at_stop: float  # the same with an arm at a stop
    out_of_soil: float  # the same with the disc out of the ground
    problem: str = ""
    warnings: tuple[str, ...] = ()  # of the crossing over the file's own ground

    @property
    def apart(self) -> float:
        """By how much the depth of small motions swings more than that of the whole model [1]; NaN: not known."""
        if self.whole is None or self.whole.depth <= 0.0:
            return math.nan
        return self.small.depth / self.whole.depth - 1.0


@dataclass(frozen=True)
class Spectra:
    """Spreads by spectrum."""

    slipping: Spread  # the seals as they are in just this motion
    stuck: Spread  # they never slip
    loose: Spread  # no drag at all
    rub: float  # damper that the drag is in the first [N s/m]
    lift_off: float  # share of the way without load that a Gaussian load would have, Φ(−mean/SD) [1]


@dataclass(frozen=True)
class Rough:
    """Random ground at one setting."""

    spectra: Spectra | None  # None: the file's ground is not random, or not alone
    own: Both
    classes: tuple[Both, ...]  # its heights alone, scaled to classes of ISO 8608
    soil: tuple[tuple[float, Both], ...]  # its strength alone, on level ground, by its coefficient of variation

    @property
    def part_from(self) -> Both | None:
        """The smoothest class from which on the two part by more than PART; None: at none that was crossed."""
        i = _parting([one.apart for one in self.classes])
        return None if i is None else self.classes[i]

    @property
    def soil_parts_from(self) -> float | None:
        """The same for the strength: its coefficient of variation."""
        i = _parting([one.apart for _, one in self.soil])
        return None if i is None else self.soil[i][0]


def _parting(apart: list[float]) -> int | None:
    """The first from which on all that are known are more than PART apart."""
    for i in range(len(apart)):
        rest = [abs(one) for one in apart[i:] if math.isfinite(one)]
        if rest and min(rest) > PART:
            return i
    return None


class _Part(NamedTuple):
    """Answers to one kind of waves, those to drag (outputs, waves), and each wave's share of variance (waves,)."""

    answers: Complex
    by_drag: Complex
    share: Values


def spectrum(linear: Linear, rough: Roughness | None, variation: Variation, strength: float) -> Spectra:
    """Spreads by spectrum of heights and of strength, whose mean is given [Pa]."""
    parts = [part for part in (_of_heights(linear, rough), _of_strength(linear, variation, strength)) if part]
    drag = drag_of(linear)

    def speed(rub: float) -> float:
        powers = (np.abs(with_rub(part.answers, part.by_drag, rub)[PISTON]) ** 2 * part.share for part in parts)
        return math.sqrt(sum(float(power.sum()) for power in powers))

    rub = _settled(drag, speed)
    slipping, stuck, loose = (_spread(linear, parts, one) for one in (rub, drag.held, 0.0))
    load = float(linear.told.gauge_load) / max(slipping.gauge_load, 1e-9)
    return Spectra(slipping, stuck, loose, rub, 0.5 * math.erfc(load / math.sqrt(2.0)))


def _settled(drag: Drag, speed: Callable[[float], float]) -> float:
    """The damper that a random motion asks for; speed: standard deviation of the piston's speed by the damper."""

    def damper(speeds: Values) -> Values:
        return np.array([drag.of_random(float(speeds[0]))])

    return float(settled(damper, lambda rub: np.array([speed(float(rub[0]))]), np.zeros(1))[0])


def _of_heights(linear: Linear, rough: Roughness | None) -> _Part | None:
    """Of the heights; None where there are none."""
    if rough is None:
        return None
    n, width = _waves(*rough.band)
    k = 2.0 * np.pi * n
    answers, by_drag = Response(linear).free(felt(linear, k), k * linear.speed)
    return _Part(answers, by_drag, density(rough, n) * width)


def _of_strength(linear: Linear, variation: Variation, strength: float) -> _Part | None:
    """Of the soil's strength; None where it is even."""
    sd = variation.variation_cv * strength
    if sd == 0.0:
        return None
    n, width = _waves(1e-3, max(FINEST, 2.0 / variation.correlation_length))
    k = 2.0 * np.pi * n
    answers, by_drag = Response(linear).free(felt_strength(linear, k), k * linear.speed)
    share = 4.0 * variation.correlation_length * width / (1.0 + (k * variation.correlation_length) ** 2)
    return _Part(answers, by_drag, sd**2 * share / share.sum())


def _waves(low: float, high: float, count: int = 600) -> tuple[Values, Values]:
    """Spatial frequencies [c/m] over a band and the width that each stands for: the middles of even steps of log n."""
    edges = np.geomspace(low, high, count + 1)
    return np.sqrt(edges[1:] * edges[:-1]), np.diff(edges)


def _spread(linear: Linear, parts: list[_Part], rub: float) -> Spread:
    found = [(with_rub(part.answers, part.by_drag, rub), part.share) for part in parts]

    def sd(of: Callable[[Complex], Complex]) -> float:
        return math.sqrt(sum(float((np.abs(of(answers)) ** 2 * share).sum()) for answers, share in found))

    pins = {pin: sd(partial(_along, linear, pin)) for pin in PINS}
    return Spread(sd(lambda answers: answers[DEPTH]), sd(lambda answers: answers[LOAD]), pins)


def _along(linear: Linear, pin: str, answers: Complex) -> Complex:
    return along_pin(linear, answers, pin)


@dataclass(frozen=True)
class Line:
    """Small motions over one very ground, before the piston's drag: answers to its heights and to its strength."""

    linear: Linear
    heights: Complex | None  # answers, wave by wave (outputs, waves)
    strength: Complex | None
    by_drag: Complex
    kept: NDArray[np.bool_]  # which of the transform's waves they are
    samples: int  # of the transform
    inside: slice  # of the measured stretch

    def spread(self, height: float = 1.0, strength: float = 1.0, pins: tuple[str, ...] = PINS) -> Spread:
        """Spread over it with heights and strength times a factor; of the pins those that are named."""
        parts = [f * part for f, part in ((height, self.heights), (strength, self.strength)) if part is not None and f]
        if not parts:
            return Spread(0.0, 0.0, dict.fromkeys(pins, 0.0))
        answers: Complex = np.sum(parts, axis=0)
        length = self.inside.stop - self.inside.start

        def sd(rub: float) -> float:
            power = np.abs(answers[PISTON] / (1.0 + rub * self.by_drag[PISTON])) ** 2
            return math.sqrt(2.0 * float(power.sum()) / self.samples / length)

        found = with_rub(answers, self.by_drag, _settled(drag_of(self.linear), sd))
        loads = {pin: self._sd(along_pin(self.linear, found, pin)) for pin in pins}
        return Spread(self._sd(found[DEPTH]), self._sd(found[LOAD]), loads)

    def _sd(self, line: Complex) -> float:
        waves = np.zeros(self.samples // 2 + 1, np.complex128)
        waves[self.kept] = line
        return float(np.fft.irfft(waves, self.samples)[self.inside].std())


def line_of(linear: Linear, track: Track, finest: float) -> Line:
    """Small motions over a track: its heights and its strength wave by wave, up to `finest` [c/m].

    Behind its end the ground comes back to where it began, so that it can count as repeated.
    """
    count = track.x.size
    fade = round(8.0 / track.dx)
    n = smooth_length(count + fade)
    k: Values = np.arange(n // 2 + 1, dtype=np.float64) * (2.0 * math.pi / (n * track.dx))
    kept = (k > 0.0) & (k <= 2.0 * np.pi * finest)
    response, omega = Response(linear), k[kept] * linear.speed
    by_drag: Complex = np.zeros((1, 1), np.complex128)
    parts: list[Complex | None] = []
    for values, brings in ((track.ground, felt), (track.strength - linear.rest[AT.strength], felt_strength)):
        padded = np.zeros(n)
        padded[:count] = values
        padded[count : count + fade] = values[-1] * 0.5 * (1.0 + np.cos(np.pi * np.arange(fade) / fade))
        if not np.any(np.abs(padded) > 0.0):
            parts.append(None)
            continue
        answers, by_drag = response.free(brings(linear, k[kept]) * np.fft.rfft(padded)[kept], omega)
        parts.append(answers)
    # samples are places of O here, which passes a place before the disc does
    first, last = ((at - linear.places["disc"] - track.x0) / track.dx for at in (track.x_from, track.x_to))
    inside = slice(max(0, math.ceil(first)), min(math.floor(last), n))
    return Line(linear, parts[0], parts[1], by_drag, kept, n, inside)


def both(scenario: Scenario, linear: Linear, track: Track, small: Spread, name: str = "") -> Both:
    """The whole model over a ground beside small motions."""
    try:
        run = simulate(scenario.unit, scenario.soil, track, scenario.settings)
    except SimulationError as error:
        return Both(name, small, None, math.nan, math.nan, math.nan, str(error))
    series = run.series
    shares = (
        float(np.mean(series["gauge_load"] <= 0.0)), float(np.mean(series["stop_force"] != 0.0)),
        float(np.mean(series["depth"] <= 0.0)),
    )  # fmt: skip
    heeded = () if name else tuple(warnings_of(run, scenario))
    return Both(name, small, spread_of(run, linear), *shares, warnings=heeded)


def spread_of(run: Run, linear: Linear) -> Spread:
    """Spread of a crossing; of pins along their loads at rest, as `along_pin`."""
    along = linear.pins / np.maximum(np.hypot(*linear.pins.T), 1e-9)[:, None]
    pins = dict(zip(PINS, (run.pins * along).sum(axis=2).std(axis=0).tolist(), strict=True))
    return Spread(float(run.series["depth"].std()), float(run.series["gauge_load"].std()), pins)


def on_rough(scenario: Scenario, linear: Linear, *, parted: bool = True) -> Rough:
    """The scenario's ground; its heights alone, scaled from the smoothest class to the roughest; its strength alone.

    parted: also where small motions and the whole model part, for which some ten grounds more are crossed.
    """
    rough, finest = scenario.ground.roughness, FINEST
    if rough is not None:
        finest = max(finest, rough.band[1])
    track = scenario.track()
    own = both(scenario, linear, track, line_of(linear, track, finest).spread())
    if not _alone(scenario):
        return Rough(None, own, (), ())
    spectra = spectrum(linear, rough, scenario.variation, scenario.soil.strength)
    if not parted:
        return Rough(spectra, own, (), ())
    track = scenario.track(length=min(SCALED_LENGTH, scenario.length))
    line = line_of(linear, track, finest)
    classes = () if rough is None else tuple(_heights(scenario, linear, track, line, name) for name in CLASSES)
    cv = scenario.variation.variation_cv
    soil = tuple((share * cv, _strength(scenario, linear, track, line, share)) for share in SHARES) if cv else ()
    return Rough(spectra, own, classes, soil)


def _heights(scenario: Scenario, linear: Linear, track: Track, line: Line, name: str) -> Both:
    """A track's heights scaled to a class, over soil of even strength."""
    rough = scenario.ground.roughness
    assert rough is not None
    factor = math.sqrt(Roughness(letter=name).density / rough.density)
    even = np.full(track.strength.size, scenario.soil.strength)
    scaled = replace(track, ground=factor * track.ground, strength=even)
    return both(scenario, linear, scaled, line.spread(factor, 0.0, SCALED_PINS), name)


def _strength(scenario: Scenario, linear: Linear, track: Track, line: Line, share: float) -> Both:
    """A share of what a track's strength varies by, on level ground."""
    mean = scenario.soil.strength
    varied = replace(track, ground=np.zeros(track.ground.size), strength=mean + share * (track.strength - mean))
    return both(scenario, linear, varied, line.spread(0.0, share, SCALED_PINS), "strength alone")


def _alone(scenario: Scenario) -> bool:
    """Whether the ground is random and nothing else: no feature, no stones, no measured heights."""
    strewn = scenario.stones.rate_per_100m > 0.0 or bool(scenario.stones.placed)
    plain = not scenario.ground.features and scenario.profile is None and not strewn
    return plain and (scenario.ground.roughness is not None or scenario.variation.variation_cv > 0.0)
