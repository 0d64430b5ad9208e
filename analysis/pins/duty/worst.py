"""The worst direction of a load in the axes of a part, between the three that are counted, and its cycles."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.pins.duty.cycles import Cycles, cycles_of
from analysis.pins.duty.gathered import Gathered
from analysis.pins.duty.rainflow_loop import LEAST_RANGE
from sim.record import PINS

DIRECTIONS = np.array([0.0, math.pi / 3.0, 2.0 * math.pi / 3.0])
"""Counted directions, from the second-named part's own line counter-clockwise [rad]."""
NEXT_TO_PI = 1e-6  # a direction this close to π is told as 0 [rad]


class Worst(NamedTuple):
    """The component of a pin's load that does most damage."""

    direction: float  # from the second-named part's own line, 0 ≤ … < π counter-clockwise [rad]
    equivalent: float  # range that once per metre of travel does the damage of all its cycles [N]
    cycles_per_m: float  # cycles of at least 10 N, in the counted direction that does most [1/m]


class Spectrum(NamedTuple):
    """Ranges of the load's component in one direction, and how often each is reached or passed, each (n,)."""

    ranges: NDArray[np.float64]  # falling [N]
    per_metre: NDArray[np.float64]  # [1/m of travel]


def quadratic_form(sizes: NDArray[np.float64]) -> tuple[NDArray[np.float64], ...]:
    """a, b, c of size² = a + b cos 2φ + c sin 2φ through sizes in the three directions, (3, …)."""
    square = np.square(sizes)
    first, second, third = square
    return square.mean(axis=0), (2.0 * first - second - third) / 3.0, (second - third) / math.sqrt(3.0)


def largest(sizes: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Direction [rad] in which a size is largest, and its size there, from sizes in the three directions, (3, …).

    Where a counted one is larger than the form's largest, that one.
    """
    a, b, c = quadratic_form(sizes)
    most, counted = np.sqrt(np.maximum(a + np.hypot(b, c), 0.0)), sizes.max(axis=0)
    direction = 0.5 * np.arctan2(c, b) % math.pi
    direction = np.where(math.pi - direction < NEXT_TO_PI, 0.0, direction)
    return np.where(counted > most, DIRECTIONS[sizes.argmax(axis=0)], direction), np.maximum(most, counted)


def worst(over: Gathered, pin: str, slope: float) -> Worst:
    """What does most damage to a pin by n·R^m, m the slope [1]."""
    return worst_of_all(over, slope)[PINS.index(pin)]


def worst_of_all(over: Gathered, slope: float) -> tuple[Worst, ...]:
    """The same for every pin, in the order of PINS; all closed cycles at once, for speed."""
    counts = [count for pin in over.counted for count in pin]
    numbers, sizes = np.array([c.numbers for c in counts]), np.array([c.sizes for c in counts])
    done = np.sum(numbers * (sizes / np.maximum(numbers, 1)) ** slope, axis=1)
    often = numbers[:, 1:].sum(axis=1).astype(np.float64)  # the first bin holds those below 10 N
    # half cycles: from each point that is left over to the next one of the same history
    points = np.concatenate([c.left_over for c in counts])
    owner = np.repeat(np.arange(len(counts)), [c.left_over.size for c in counts])
    one, half = owner[1:], np.where(owner[1:] == owner[:-1], np.abs(np.diff(points)), 0.0)
    done += 0.5 * np.bincount(one, half**slope, len(counts))
    often += 0.5 * np.bincount(one, half >= LEAST_RANGE, len(counts))
    equal = (done / over.distance).reshape(-1, DIRECTIONS.size).T ** (1.0 / slope)
    most = np.take_along_axis(often.reshape(-1, DIRECTIONS.size), equal.argmax(axis=0)[:, None], axis=1)[:, 0]
    direction, equivalent = largest(equal)
    return tuple(
        Worst(*of) for of in zip(direction.tolist(), equivalent.tolist(), (most / over.distance).tolist(), strict=True)
    )


def spectrum(over: Gathered, pin: str, direction: float) -> Spectrum:
    """Ranges of 10 N and more in a direction [rad], level by level from those reached as often in the counted ones."""
    cycles = [cycles_of(count) for count in over.counted[PINS.index(pin)]]
    most = max(float(c.counts[c.ranges >= LEAST_RANGE].sum()) for c in cycles)
    if most < 0.5:
        return Spectrum(np.zeros(0), np.zeros(0))
    times = np.geomspace(0.5, most, 121)
    a, b, c = quadratic_form(np.array([_between(one, times) for one in cycles]))
    square = a + b * math.cos(2.0 * direction) + c * math.sin(2.0 * direction)
    ranges = np.minimum.accumulate(np.sqrt(np.maximum(square, 0.0)))
    told = ranges >= LEAST_RANGE
    return Spectrum(ranges[told], times[told] / over.distance)


def _between(cycles: Cycles, times: NDArray[np.float64]) -> NDArray[np.float64]:
    """As `reached`, read between the middles of the steps that ranges of one bin, told as one, make."""
    order = np.argsort(-cycles.ranges, kind="stable")
    if not order.size:
        return np.zeros(times.size)
    counts, ranges = cycles.counts[order], cycles.ranges[order]
    all_of_them = float(counts.sum())
    places = np.append(np.cumsum(counts) - 0.5 * counts, all_of_them)
    read = np.interp(np.log(times), np.log(places), np.append(ranges, ranges[-1]))
    return np.where(times > all_of_them * (1.0 + 1e-12), 0.0, read)


class PinSpectrum(NamedTuple):
    """A pin's spectrum in its worst direction, and where its damage comes from."""

    pin: str
    worst: Worst
    spectrum: Spectrum
    half: float  # range above which half of the damage is done [N]; 0 without any
    half_per_metre: float  # how often that is reached or passed [1/m of travel]


def spectra(over: Gathered, pins: Iterable[str], slope: float) -> tuple[PinSpectrum, ...]:
    """Spectra of some pins, those of the largest equivalent range first."""
    found = [_pin_spectrum(over, pin, slope) for pin in pins]
    return tuple(sorted(found, key=lambda one: -one.worst.equivalent))


def _pin_spectrum(over: Gathered, pin: str, slope: float) -> PinSpectrum:
    most = worst(over, pin, slope)
    found = spectrum(over, pin, most.direction)
    times = np.diff(found.per_metre, prepend=0.0)
    done = np.cumsum(times * found.ranges**slope)
    if not done.size:
        return PinSpectrum(pin, most, found, 0.0, 0.0)
    at = int(np.searchsorted(done, 0.5 * done[-1]))
    return PinSpectrum(pin, most, found, float(found.ranges[at]), float(found.per_metre[at]))
