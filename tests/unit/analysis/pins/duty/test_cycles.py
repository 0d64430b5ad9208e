"""Rainflow counting: pieces joined are the whole, and the whole is what the package `rainflow` counts."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

import numpy as np
import pytest
import rainflow
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.pins.duty.cycles import (
    MEAN_EDGES,
    RANGE_EDGES,
    Cycles,
    counted,
    cycles_of,
    damage,
    equivalent_range,
    half_cycles,
    joined,
    mean_middles,
    miner,
    ranges_of,
    reached,
)
from analysis.pins.duty.rainflow_loop import MEAN_SIDE, MEANS, RANGES, RANGES_A_DECADE

# whole numbers far apart and on no edge of a bin: ties, plateaus and long monotone stretches come up
WHOLE = st.lists(st.integers(-6, 6).map(lambda k: 1013.0 * k), min_size=1, max_size=120)


def by_package(values) -> Counter:
    """Cycles (range, mean) → how many, by the package; its first value twice, or two values would make none.

    Of a history that stands still it makes half a cycle of no range, which is left out.
    """
    found: Counter = Counter()
    for size, mean, number, *_ in rainflow.extract_cycles([values[0], *values]):
        if size > 0.0:
            found[size, mean] += number
    return found


def binned(cycles) -> Counter:
    """Cycles put into our bins by numpy: (range bin, mean bin) → how many."""
    found: Counter = Counter()
    for (size, mean), number in cycles.items():
        k = int(np.searchsorted(RANGE_EDGES, size, side="right"))
        away = int(np.searchsorted(MEAN_EDGES, abs(mean), side="right"))
        found[k, MEAN_SIDE + (away if mean > 0 else -away)] += number
    return found


def ours(found) -> Counter:
    """The same of a count: closed cycles as they stand, half cycles put into bins."""
    half = half_cycles(found.left_over)
    all_half: Counter = Counter()
    for size, mean, number in zip(*half, strict=True):
        all_half[size, mean] += number
    k, j = np.nonzero(found.closed)
    total = binned(all_half)
    for a, b, number in zip(k, j, found.closed[k, j], strict=True):
        total[int(a), int(b)] += int(number)
    return total


@settings(max_examples=300, deadline=None)
@given(WHOLE)
def test_whole_histories_are_those_of_the_package(values):
    found = counted(values)
    assert ours(found) == binned(by_package(values))
    assert found.numbers.tolist() == found.closed.sum(axis=1).tolist()


@settings(max_examples=300, deadline=None)
@given(WHOLE, st.lists(st.integers(0, 120), max_size=4))
def test_pieces_joined_are_the_whole(values, cuts):
    ends = [0, *sorted(min(cut, len(values)) for cut in cuts), len(values)]
    pieces = joined(counted(values[a:b]) for a, b in pairwise(ends))
    whole = counted(values)
    assert pieces.left_over.tolist() == whole.left_over.tolist()
    np.testing.assert_array_equal(pieces.closed, whole.closed)
    np.testing.assert_array_equal(pieces.sizes, whole.sizes)  # whole numbers: no rounding


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_random_histories_are_those_of_the_package(seed):
    rng = np.random.default_rng(seed)
    values = np.cumsum(rng.standard_normal(4000)) * 300.0 + 2000.0 * rng.standard_normal(4000)
    package = by_package(values.tolist())
    whole = counted(values)
    assert ours(whole) == binned(package)
    pieces = joined(counted(part) for part in np.array_split(values, 7))
    np.testing.assert_array_equal(pieces.closed, whole.closed)
    np.testing.assert_array_equal(pieces.left_over, whole.left_over)
    sizes, numbers = (np.array(x) for x in zip(*((size, n) for (size, _), n in package.items()), strict=True))
    for slope in (3.0, 5.0):
        # the power of a bin's mean range is less than the mean power: ½m(m − 1) of the variance of log range in it
        low = 0.5 * slope * (slope - 1.0) * (np.log(10.0) / RANGES_A_DECADE) ** 2 / 12.0
        right = float(np.sum(numbers * sizes**slope))
        for cycles in (cycles_of(whole), ranges_of(whole)):
            assert right * (1.0 - low) < damage(cycles, slope) <= right * (1.0 + 1e-12)


def test_left_over_points_make_half_cycles_of_their_ranges():
    rng = np.random.default_rng(5)
    found = counted(rng.standard_normal(2000) * 1000.0)
    half = half_cycles(found.left_over)
    assert sorted(half.ranges) == sorted(np.abs(np.diff(found.left_over)))
    assert set(half.counts) == {0.5}


def test_a_history_that_grows_for_ever_is_all_left_over():
    values = [(-1.0) ** k * 100.0 * k for k in range(400)]
    found = counted(values)
    assert found.closed.sum() == 0
    assert found.left_over.tolist() == values


@pytest.mark.parametrize("values", [[], [7.0], [7.0, 7.0, 7.0]])
def test_nothing_that_moves_has_no_cycles(values):
    found = counted(values)
    assert cycles_of(found).counts.sum() == ranges_of(found).counts.sum() == 0.0
    assert equivalent_range(ranges_of(found), 3.0) == 0.0
    assert reached(ranges_of(found), [0.5, 1.0]).tolist() == [0.0, 0.0]


def test_one_way_is_half_a_cycle():
    assert half_cycles(counted([0.0, 50.0]).left_over) == Cycles(np.array([50.0]), np.array([25.0]), np.array([0.5]))


def test_bins_hold_what_their_edges_say():
    assert (RANGE_EDGES.size + 1, mean_middles().size) == (RANGES, MEANS)
    assert RANGE_EDGES[-1] == pytest.approx(1e6)
    found = counted([0.0, 2000.0, 1000.0, 1004.0, 500.0, 3000.0])  # closes 4 N about 1002 N and 1500 N about 1250 N
    k, j = np.nonzero(found.closed)
    assert k[0] == 0  # less than 10 N
    assert RANGE_EDGES[k[1] - 1] <= 1500.0 < RANGE_EDGES[k[1]]
    for column, mean in zip(j, (1002.0, 1250.0), strict=True):
        assert mean_middles()[column] == pytest.approx(mean, rel=0.26)


def test_loads_of_any_size_are_counted():
    found = counted([0.0, 1e9, -1e9, 1e-9, 0.0, 5e8, 0.0, 1e9])
    assert found.closed[-1].sum() > 0
    assert damage(ranges_of(found), 1.0) == pytest.approx(sum(n * r for (r, _), n in by_package(
        [0.0, 1e9, -1e9, 1e-9, 0.0, 5e8, 0.0, 1e9]).items()))  # fmt: skip


def test_reached_counts_from_the_largest_down():
    cycles = Cycles(np.array([10.0, 40.0, 20.0]), np.zeros(3), np.array([3.0, 0.5, 2.0]))
    assert reached(cycles, [0.4, 0.5, 0.6, 2.5, 2.6, 5.5, 5.6]).tolist() == [40.0, 40.0, 20.0, 20.0, 10.0, 10.0, 0.0]


def test_miner_fails_at_one():
    assert miner([10, 20], [1000, 5000]) == pytest.approx(0.014)
    assert miner([1000], [1000]) == 1.0
