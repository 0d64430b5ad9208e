"""Rows behind wheel tracks: found where they are, seldom where they are not."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from every import every
from scipy import stats

from analysis.levelling.digs import Digs
from analysis.levelling.spread import pooled, quantile
from analysis.levelling.tracks import chance, contrast, given_tracks, mirrored, searched_tracks

MM = 1e-3


def machine(rng, rows=12, tracks=(), deeper=0.0, row_sd=2.0, dig_sd=3.5, count=8):
    """A machine whose rows differ by settings (row_sd), tracks and digs [mm]."""
    means = 40.0 + rng.normal(0.0, row_sd, rows) + deeper * np.isin(np.arange(1, rows + 1), tracks)
    return Digs(
        Path("d.csv"), tuple(range(1, rows + 1)), tuple(MM * (mean + rng.normal(0.0, dig_sd, count)) for mean in means)
    )


def test_groups_that_are_tried():
    """On eight rows: pairs 1+8, 2+7, 3+6 and fours 1–2+7–8, 2–3+6–7 (4+5 and 3–4+5–6 would touch)."""
    assert list(mirrored(8)) == [(1, 8), (2, 7), (3, 6), (1, 2, 7, 8), (2, 3, 6, 7)]
    assert list(mirrored(7)) == [(1, 7), (2, 6), (3, 5), (1, 2, 6, 7), (2, 3, 5, 6)]


def test_the_test_is_students_on_row_means():
    found = machine(np.random.default_rng(1))
    inside = np.isin(found.rows, (3, 10))
    expected = stats.ttest_ind(found.means[inside], found.means[~inside]).pvalue
    assert chance(found, (3, 10)) == pytest.approx(expected, rel=1e-9)


def test_the_contrast_by_hand():
    """Means 44 and 40, 41, 42 with 4 digs each: 3 mm, ± t·s·√(1/4 + 1/12)."""
    rows = [[44] * 4, [40] * 4, [41] * 4, [40, 44, 40, 44]]
    found = Digs(Path("d"), (1, 2, 3, 4), tuple(MM * np.array(row, dtype=float) for row in rows))
    spread = pooled(found)
    difference, half = contrast(found, spread, (1,))
    assert difference == pytest.approx(3 * MM)
    assert half == pytest.approx(quantile(12) * spread.sd * math.sqrt(1 / 4 + 1 / 12))


def searched(seed, machines, **kind):
    """The group that stands out most on each of many machines of a kind."""
    rng = np.random.default_rng(seed)
    dug = (machine(rng, **kind) for _ in range(machines))
    found = [searched_tracks(digs, pooled(digs)) for digs in dug]
    assert None not in found
    return found


@every("deeper", [-8.0, 8.0])
@every("tracks", [(4, 5, 8, 9), (3, 10)])
def test_tracks_are_found(tracks, deeper):
    """8 mm against rows that differ by 2 mm anyway: named right, fours in 90 % of 200 machines, pairs in 55 %."""
    groups = searched(2, 200, tracks=tracks, deeper=deeper)
    hits = sum(g.found and g.rows == tracks and (g.difference > 0.0) == (deeper > 0.0) for g in groups)
    assert hits > (180 if len(tracks) == 4 else 110)


@every(("rows", "row_sd"), [(8, 0.0), (12, 2.0), (24, 5.0)])
def test_tracks_are_seldom_found_where_there_are_none(rows, row_sd):
    """Rows that differ at random: at most 5 % of 600 machines, and three standard errors."""
    alarms = sum(group.found for group in searched(3, 600, rows=rows, row_sd=row_sd))
    assert alarms / 600 <= 0.05 + 3 * math.sqrt(0.05 * 0.95 / 600)


def test_one_row_far_off_does_not_pass_for_tracks():
    """At most in 5 % of 300 machines, and three standard errors."""
    rng = np.random.default_rng(4)
    alarms = 0
    for _ in range(300):
        found = machine(rng, tracks=(4,), deeper=15.0, row_sd=0.5)
        group = searched_tracks(found, pooled(found))
        alarms += bool(group is not None and group.found)
    assert alarms / 300 <= 0.05 + 3 * math.sqrt(0.05 * 0.95 / 300)


def test_tracks_that_are_given_are_tested_alone():
    rng = np.random.default_rng(5)
    found = machine(rng, tracks=(2, 3, 7), deeper=-8.0)
    spread = pooled(found)
    group = given_tracks(found, spread, (2, 3, 7))
    assert group.given
    assert group.found
    assert group.tried == 1
    assert group.difference == pytest.approx(-8 * MM, abs=3 * MM)
    assert group.p == chance(found, (2, 3, 7))
    assert not given_tracks(found, spread, (1, 12)).found


def test_nothing_is_searched_on_few_rows_or_with_rows_missing():
    found = machine(np.random.default_rng(6), rows=5)
    assert searched_tracks(found, pooled(found)) is None
    whole = machine(np.random.default_rng(6), rows=8)
    part = replace(whole, rows=whole.rows[:3] + whole.rows[4:], depths=whole.depths[:3] + whole.depths[4:])
    assert part.undug == (4,)
    assert searched_tracks(part, pooled(part)) is None


def test_too_few_rows_to_tell():
    found = machine(np.random.default_rng(6), rows=3)
    assert math.isnan(given_tracks(found, pooled(found), (2,)).p)
    assert not given_tracks(found, pooled(found), (2,)).found
