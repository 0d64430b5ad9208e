"""Spread, offsets and numbers of digs against hand calculation, another program's statistics, and trials."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from every import every
from scipy import stats

from analysis.levelling.digs import Digs
from analysis.levelling.spread import (
    MOST_DIGS,
    Spread,
    digs_to_place,
    digs_to_tell,
    offsets,
    pooled,
    power,
    stray_dig,
    unequal_rows,
)

MM = 1e-3


def digs(*rows):
    return Digs(Path("d.csv"), tuple(range(1, len(rows) + 1)), tuple(MM * np.array(row, dtype=float) for row in rows))


def machine(rng, means, count, sd):
    return digs(*(mean + rng.normal(0.0, sd, count) for mean in means))


def test_pooled_spread_by_hand():
    """Squares 2 + 8 over 2 + 2 degrees of freedom: √2.5 mm."""
    found = pooled(digs([40, 41, 42], [30, 32, 34]))
    assert found.freedom == 4
    assert found.sd == pytest.approx(np.sqrt(2.5) * MM)


def test_pooled_spread_is_that_of_the_analysis_of_variance():
    """scipy's one-way F is the mean square between rows over ours within rows."""
    rng = np.random.default_rng(1)
    found = machine(rng, [40, 45, 38, 41], 6, 4.0)
    between = 6 * np.var(found.means, ddof=1)
    assert stats.f_oneway(*found.depths).statistic == pytest.approx(between / pooled(found).sd ** 2)


def test_offset_to_a_wanted_depth_by_hand():
    """Row of 4 digs, mean 43 mm, s = 2 mm on 20 degrees of freedom: 3 ± 2.086·2/√4 mm (Student's table)."""
    row = [43 + 2 * k for k in (-1, 1, -1, 1)]
    found = offsets(digs(row, [40] * 4), Spread(2 * MM, 20), wanted=40 * MM)
    assert found.value == pytest.approx([3 * MM, 0.0], abs=1e-12)
    assert found.half == pytest.approx(2.086 * 1.0 * MM, rel=1e-4)
    assert found.mean_of == ()


def test_offset_to_the_machines_mean_by_hand():
    """Three rows of 2, 4 and 4 digs: Var of the first is σ²(4/9/2 + 1/9/4 + 1/9/4) = σ²·0.2778."""
    found = offsets(digs([44, 46], [40] * 4, [41] * 4), Spread(2 * MM, 20))
    assert found.target == pytest.approx(42 * MM)
    assert found.value == pytest.approx([3 * MM, -2 * MM, -1 * MM], abs=1e-12)
    assert found.half[0] == pytest.approx(2.086 * 2 * MM * np.sqrt(0.27778), rel=1e-4)
    assert found.mean_of == (1, 2, 3)
    assert found.worst == pytest.approx(2 / 3)


def test_offset_to_the_rows_outside_tracks():
    """Mean of rows 2 and 3; a row outside the mean has 1 + 1/2, one in it 1 − 1/2 of a row's variance."""
    found = offsets(digs([44] * 4, [40] * 4, [41] * 4), Spread(2 * MM, 20), mean_of=(2, 3))
    assert found.value == pytest.approx([3.5 * MM, -0.5 * MM, 0.5 * MM], abs=1e-12)
    assert (found.half[0] / found.half[1]) ** 2 == pytest.approx(3.0)
    assert found.worst == pytest.approx(1.5)


@every("wanted", [None, 40 * MM])
@every("shape", ["normal", "to 5 mm", "skewed"])
def test_intervals_hold_as_often_as_they_say(wanted, shape):
    """2000 machines of 10 rows, 5 to 9 digs each: 95 % of all rows' intervals hold the true offset.

    Also where digs are read to 5 mm, and (within a point) where they are skewed, an exponential tail to one side.
    """
    rng = np.random.default_rng(11)
    counts = np.array([5, 9, 6, 6, 7, 8, 5, 6, 9, 7])
    means = 40.0 + rng.normal(0.0, 5.0, 10)
    truth = means - (np.mean(means) if wanted is None else 40.0)
    held = 0
    for _ in range(2000):
        noise = [rng.exponential(4.0, n) - 4.0 if shape == "skewed" else rng.normal(0.0, 4.0, n) for n in counts]
        depths = [mean + e for mean, e in zip(means, noise, strict=True)]
        if shape == "to 5 mm":
            depths = [5.0 * np.round(depth / 5.0) for depth in depths]
        found = digs(*depths)
        off = offsets(found, pooled(found), wanted)
        held += int(np.sum((off.low <= truth * MM) & (truth * MM <= off.high)))
    assert held / 20_000 == pytest.approx(0.95, abs=0.007 if shape == "normal" else 0.012)


@every(("sd", "rows", "worst"), [(4.0, 12, 11 / 12), (3.0, 6, 1.0), (6.0, 24, 23 / 24)])
def test_digs_to_place_a_row(sd, rows, worst):
    """The least number: it reaches ±3 mm and one less does not; near (1.96·s/3 mm)²·worst for many rows."""
    n = digs_to_place(Spread(sd * MM, 99), rows, 3 * MM, worst)
    for count, enough in ((n, True), (n - 1, False)):
        half = stats.t.ppf(0.975, rows * (count - 1)) * sd * np.sqrt(worst / count)
        assert (half <= 3.0) == enough
    assert n == pytest.approx((1.96 * sd / 3.0) ** 2 * worst, abs=2.0)


@every(("sd", "rows", "worst"), [(4.0, 12, 11 / 12), (3.0, 6, 1.0), (6.0, 24, 23 / 24)])
def test_digs_to_tell_a_row(sd, rows, worst):
    """The least number, against scipy's noncentral t; near ((1.96 + 0.84)·s/3 mm)²·worst for many rows."""
    n = digs_to_tell(Spread(sd * MM, 99), rows, 3 * MM, worst)
    for count, enough in ((n, True), (n - 1, False)):
        freedom, off = rows * (count - 1), 3.0 / (sd * np.sqrt(worst / count))
        edge = stats.t.ppf(0.975, freedom)
        chance = stats.nct.sf(edge, freedom, off) + stats.nct.cdf(-edge, freedom, off)
        assert (chance >= 0.80) == enough
        assert power(Spread(sd * MM, 99), rows, count, 3 * MM, worst) == pytest.approx(chance, abs=1e-6)
    assert n == pytest.approx(((1.96 + 0.8416) * sd / 3.0) ** 2 * worst, abs=2.0)


def test_power_is_what_trials_show():
    """12 rows, 13 digs, one row 3 mm off the others' mean at 4 mm spread: shown off in as many of 3000 trials."""
    rng = np.random.default_rng(5)
    means = np.full(12, 40.0)
    means[3] += 3.0 * 12 / 11  # so that it lies 3 mm off the mean of all
    shown = 0
    for _ in range(3000):
        found = machine(rng, means, 13, 4.0)
        off = offsets(found, pooled(found))
        shown += bool(off.low[3] > 0.0 or off.high[3] < 0.0)
    assert shown / 3000 == pytest.approx(power(Spread(4 * MM, 144), 12, 13, 3 * MM, 11 / 12), abs=0.02)


def test_a_spread_that_no_number_of_digs_masters():
    assert digs_to_place(Spread(0.2, 50), 8, 1 * MM, 1.0) == MOST_DIGS
    assert digs_to_tell(Spread(0.2, 50), 8, 1 * MM, 1.0) == MOST_DIGS


def test_rows_of_unequal_spread_are_noticed_and_equal_ones_are_not():
    rng = np.random.default_rng(3)
    wild = [40 + rng.normal(0.0, 2.0, 10) for _ in range(7)] + [40 + rng.normal(0.0, 14.0, 10)]
    doubt = unequal_rows(digs(*wild))
    assert doubt is not None
    assert (doubt.row, doubt.value) == (8, pytest.approx(np.std(wild[7], ddof=1) * MM))
    alarms = sum(unequal_rows(machine(rng, [40] * 8, 8, 3.0)) is not None for _ in range(300))
    assert alarms <= 12
    assert unequal_rows(digs([40] * 4, [41] * 4)) is None


def test_a_stray_dig_is_noticed_and_seldom_without_cause():
    rng = np.random.default_rng(7)
    found = machine(rng, [40] * 8, 8, 3.0)
    rows = [np.array(depth) / MM for depth in found.depths]
    rows[4][2] = 70.0
    doubt = stray_dig(digs(*rows), pooled(digs(*rows)))
    assert doubt is not None
    assert (doubt.row, doubt.value) == (5, pytest.approx(70 * MM))
    alarms = 0
    for _ in range(400):
        found = machine(rng, [40] * 8, 8, 3.0)
        alarms += stray_dig(found, pooled(found)) is not None
    assert alarms <= 33  # 5 % of 400 and three standard errors
