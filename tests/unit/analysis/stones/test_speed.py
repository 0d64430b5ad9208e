"""How fast over a stone, and how often on a hectare: borders found, counts against closed forms and single stones."""

import json
import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from every import every
from scipy.stats import poisson

from analysis.stones.document import chance_document, met_document
from analysis.stones.per_hectare import (
    Chance,
    Passing,
    count_interval,
    field_shapes,
    shapes_of,
    stone_chance,
    strewn_shapes,
)
from analysis.stones.speed import SPEEDS, Fastest, Limit, StoneSpeed, peak_force, stone_length, stone_speed
from analysis.stones.strike import STIFFNESSES, stone_loads
from analysis.stones.words import chance_sentence, speed_sentence
from scenarios.ground.stone_field import cut
from scenarios.load import load
from scenarios.spec import StoneField

PRESSURE, SPEED = 60e5, 8.0 / 3.6


@pytest.fixture(scope="module")
def stony():
    return load("stony")


@cache
def fastest(part, force, proud=0.03):
    return stone_speed(load("stony"), Limit(part, force), proud, PRESSURE, 1)


@every(("part", "force"), [("disc", 15e3), ("pin", 25e3)])
def test_the_limit_holds_up_to_the_speed_found_and_not_above(stony, part, force):
    made = fastest(part, force)
    for one in made.found:
        assert one.passed
        below, at, above = (
            peak_force(stony, part, PRESSURE, factor * one.speed, one.stiffness, 0.03, made.length)
            for factor in (0.98, 1.0, 1.02)
        )
        assert below < at == one.peak <= force < above
        assert one.peak > 0.99 * force
    soft, middle, stiff = (one.speed for one in made.found)
    assert soft > middle > stiff


def test_peaks_are_those_that_a_window_tells(stony):
    """Which takes longer steps: to 1 %."""
    told = stone_loads(stony, PRESSURE, SPEED, 1)
    for part, told_peaks in (("disc", told.disc_peaks), ("pin", told.pin_peaks)):
        made = [peak_force(stony, part, PRESSURE, SPEED, stiffness, 0.03, 0.3) for stiffness in STIFFNESSES]
        assert made == pytest.approx(told_peaks, rel=0.01)


def test_a_higher_stone_and_a_lower_limit_ask_for_less_speed():
    assert all(
        high.speed < low.speed
        for high, low in zip(fastest("disc", 15e3, 0.05).found, fastest("disc", 15e3).found, strict=True)
    )
    assert all(
        low.speed < high.speed
        for low, high in zip(fastest("disc", 12e3).found, fastest("disc", 15e3).found, strict=True)
    )


def test_limits_that_are_never_or_always_passed():
    never = fastest("disc", 500e3)
    assert [(one.passed, one.speed) for one in never.found] == [(False, SPEEDS[-1])] * 3
    assert "up to 30 km/h (the fastest looked at) for any contact stiffness" in speed_sentence(never)
    assert [one.gives_way for one in never.found] == [True] * 3  # at 30 km/h
    assert speed_sentence(never).endswith("; at these speeds the stone gives way at 20 kN upwards")
    assert "gives way" not in speed_sentence(fastest("disc", 15e3))  # though at more speed it would
    always = fastest("disc", 150.0)
    assert all(one.speed is None for one in always.found)
    assert "not even at 1 km/h" in speed_sentence(always)


def test_a_high_stone_is_longer():
    assert stone_length(0.03) == 0.30
    assert stone_length(0.12) == pytest.approx(0.40)


def test_sentences_follow_the_numbers():
    def made(soft, stiff, part="disc", force=15e3):
        found = (Fastest(0.3e6, soft / 3.6, True, 1.0), Fastest(1.2e6, stiff / 3.6, True, 1.0))
        return speed_sentence(StoneSpeed(0.04, 0.3, 55e5, Limit(part, force), 20e3, found))

    text = made(12.39, 6.0)
    assert "a stone 40 mm proud and 0.3 m long, flat ground, level toolbar, 55 bar" in text
    assert "the force on the disc stays within 15 kN up to 6.0 km/h for a contact stiffness of 1.2 MN/m" in text
    assert "up to 12.3 km/h for 0.3 MN/m" in text  # rounded down: the limit holds at what is said
    assert "up to 7.0 km/h for a contact" in made(12.0, 7.0)
    assert "the load on the most loaded pin stays within 25 kN" in made(12.0, 7.0, "pin", 25e3)
    assert "gives way" not in text


def test_every_stone_that_the_disc_reaches_passes_a_force_of_nothing(stony):
    """Tops spread evenly over −50…+30 mm, disc at 40 mm: seven eighths are reached, 8000 lie under the rows."""
    found = stone_chance(stony, Limit("disc", 1.0), PRESSURE, SPEED, 1)
    assert found.strikes_per_hectare == pytest.approx(8000.0)
    for one in found.found:
        assert one.per_hectare == pytest.approx(8000.0 * 70.0 / 80.0, rel=0.03)
        assert one.chance == 1.0


def test_the_share_over_a_limit_is_that_of_stones_crossed_one_by_one(stony):
    """Sixty stones drawn as the file strews them, each simulated: shares within three standard deviations."""
    limit, rng, n = Limit("disc", 7e3), np.random.default_rng(5), 60
    found = stone_chance(stony, limit, PRESSURE, SPEED, 1)
    lengths, tops = rng.uniform(0.10, 0.35, n), rng.uniform(-0.05, 0.03, n)
    for one in found.found:
        over = [
            peak_force(stony, "disc", PRESSURE, SPEED, one.stiffness, float(top), float(length)) > limit.force
            for length, top in zip(lengths, tops, strict=True)
        ]
        share = one.per_hectare / found.strikes_per_hectare
        assert one.low <= one.per_hectare <= one.high
        assert one.error < 0.05
        assert abs(np.mean(over) - share) < 3.0 * math.sqrt(share * (1.0 - share) / n) + 0.01
    assert found.found[0].per_hectare < found.found[1].per_hectare < found.found[2].per_hectare


def test_more_speed_passes_a_limit_more_often(stony):
    slow, fast = (stone_chance(stony, Limit("pin", 25e3), PRESSURE, v / 3.6, 1) for v in (7.0, 10.0))
    assert sum(p.per_hectare for p in slow.found) < sum(p.per_hectare for p in fast.found)


def test_stones_by_the_hectare_are_those_that_the_row_cuts():
    field = StoneField(stones_per_ha=8000.0)
    made = field_shapes(field)
    assert made.per_metre * 1e4 / 0.25 == pytest.approx(8000.0 * (0.225 + 0.025) / 0.25)
    rng = np.random.default_rng(3)
    drawn = [cut(field, 0.0, *map(float, rng.random(3))) for _ in range(20000)]
    for name in ("length", "top"):
        values = np.array([getattr(stone, name) for stone in drawn])
        ours = getattr(made, f"{name}s")
        assert ours.mean() == pytest.approx(values.mean(), abs=4.0 * values.std() / math.sqrt(values.size))
        assert np.quantile(ours, 0.9) == pytest.approx(np.quantile(values, 0.9), abs=0.003)


def test_both_kinds_of_stones_count_together(stony):
    field = StoneField(stones_per_ha=8000.0)
    both = replace(stony, ground=replace(stony.ground, features=(field,)))
    assert [round(s.per_metre, 9) for s in shapes_of(both)] == [0.2, 0.2]
    assert strewn_shapes(stony.stones).tops.min() > -0.05


def test_without_stones_there_is_no_chance_to_tell():
    found = stone_chance(load("rough"), Limit("disc", 15e3), PRESSURE, SPEED, 1)
    assert found.found == ()
    assert chance_sentence(found) == "stones a hectare: this file strews no stones"
    json.dumps(chance_document(found), allow_nan=False)


@every("mean", [0.0, 0.02, 0.7, 3.3, 68.0, 4808.0])
def test_the_counts_of_a_hectare_are_those_of_a_poisson_number(mean):
    low, high = count_interval(mean)
    if mean == 0.0:
        assert (low, high) == (0, 0)
        return
    assert poisson.cdf(high, mean) - poisson.cdf(low - 1, mean) >= 0.95
    assert poisson.cdf(low - 1, mean) <= 0.025
    assert poisson.sf(high, mean) <= 0.025
    assert (low, high) == tuple(int(n) for n in poisson.interval(0.95, mean))


def test_sentences_of_a_hectare_follow_the_numbers():
    def made(*numbers, error=0.02):
        found = tuple(
            Passing(k, n, 0.9 * n, 1.1 * n, error) for k, n in zip((0.3e6, 0.6e6, 1.2e6), numbers, strict=True)
        )
        return chance_sentence(Chance(Limit("pin", 25e3), 9.0 / 3.6, 1234.0, 0.3, found))

    text = made(0.0, 2.0, 40.0)
    assert "(9 km/h, rows 0.3 m apart): of 1230 under the rows 0 at 0.3 MN/m, 1.8 to 2.2 at 0.6 MN/m and" in text
    assert "36 to 44 at 1.2 MN/m of contact stiffness bring more than 25 kN on the most loaded pin" in text
    assert "at 0.6 MN/m 2 in the mean, 0 to 5 on 19 hectares of 20" in text
    assert "pin: it hangs on a stiffness that is not known; at" in text
    assert "chance" not in text  # of 0 % to 100 % nothing is known
    assert "peaks known to 2.0 % of the limit" in text
    few = made(0.01, 0.02, 0.03, error=0.013)
    assert f"chance of one or more {100 * (1 - math.exp(-0.009)):.0f} % to {100 * (1 - math.exp(-0.033)):.0f} %" in few
    assert "known to 1.3 %" in few
    assert "none brings more than 25 kN" in made(0.0, 0.0, 0.0)


def test_json_has_no_nan(stony):
    chance = stone_chance(stony, Limit("disc", 15e3), PRESSURE, SPEED, 1)
    documents = [met_document(fastest("disc", force), chance) for force in (15e3, 150.0)]
    json.dumps(documents, allow_nan=False)
    assert len(documents[0]["per_hectare"]["expected_per_ha"]) == len(STIFFNESSES)
