"""The chance that all limits are met, and the pick by it."""

from __future__ import annotations

import json
from dataclasses import replace

import invented
import numpy as np
import pytest
from doubted import known_but, uncertain
from drawn import amiss

from analysis.window.advice import advise
from analysis.window.advice_document import advice_document
from analysis.window.cross_grid import search
from analysis.window.doubt.chance import down_from, needed, whole_grid
from analysis.window.doubt.pick import Doubt, choose_sure, in_doubt
from analysis.window.doubt.words import assumed_words, chance_words, reasons
from analysis.window.limits import meets, without_rule
from analysis.window.pick import Nearest, Pick, choose, nearest_at, pick_at
from analysis.window.sentences import headline
from analysis.window.sure.assumed import Assumed
from analysis.window.told.detail_words import detailed_text
from analysis.window.why_words import why
from analysis.window.words import window_text
from scenarios.doubt.belief import RANGE, belief
from scenarios.doubt.doubtful import BY_NAME, TIMES
from scenarios.doubt.keys import edge_of, key_of
from scenarios.doubt.varied import with_values
from scenarios.format.edge_units import to_edge
from scenarios.spec import Limits

# some sets meet these on 30 m and some do not
EASED = Limits(depth_tolerance=0.015, on_depth_share_min=0.9, wheel_off_share_max=0.2, gauge_load_max=1300.0)
P, V = (35.0, 40.0, 45.0), (6.0, 9.0, 12.0)


def short(**changes):
    made = replace(invented.short_scenario("rough", 30.0), limits=EASED, **changes)
    return replace(made, search=replace(made.search, draws=8))


def crossed(scenario, pressures=P, speeds=V, seeds=2):
    return search(scenario, pressures, speeds, seeds, unchanged=False)


def as_fitted(scenario):
    """[uncertain] that says of every value what the prior says."""
    held = belief(scenario)
    told = []
    for name, centre, sd in zip(held.names, held.centre, held.sd, strict=True):
        one = BY_NAME[name]
        edge = edge_of(one)
        per = 1.0 if edge == "degC" else to_edge(1.0, edge)  # a temperature's amount has no zero
        spread = float(np.exp(sd * RANGE)) if one.way == TIMES else float(sd * RANGE * per)
        told.append((key_of(one), to_edge(float(centre), edge), spread))
    return uncertain(*told, readings=12)


@pytest.fixture(scope="module")
def assumed():
    return short()


@pytest.fixture(scope="module")
def fitted(assumed):
    return replace(assumed, uncertain=as_fitted(assumed))


@pytest.fixture(scope="module")
def window(assumed):
    return crossed(assumed)


@pytest.fixture(scope="module")
def chance(assumed, window):
    return whole_grid(assumed, window, 1, 2)


def test_the_chance_is_the_share_of_plain_windows_that_meet_all_limits(assumed, window, chance):
    met = []
    for row in chance.values:
        other = with_values(assumed, dict(zip(chance.held.names, row.tolist(), strict=True)))
        plain = crossed(other)
        met.append(meets(plain, without_rule(plain.limits)))
    assert np.array_equal(chance.met, np.array(met))
    assert np.array_equal(chance.grid, np.mean(met, axis=0))
    assert 0.0 < chance.grid.mean() < 1.0  # else nothing is shown


def test_it_is_the_same_for_any_number_of_workers_and_again(assumed, window, chance):
    again = whole_grid(assumed, window, 1, 1)
    assert np.array_equal(again.met, chance.met)
    assert np.array_equal(again.values, chance.values)


def test_which_ground_is_crossed_first_does_not_matter(assumed, window, chance):
    assert np.array_equal(whole_grid(assumed, window, 2, 2).met, chance.met)


def test_down_from_the_pick_it_is_the_same_where_it_was_looked_at(assumed, window, chance):
    pick = choose(window)
    assert isinstance(pick, Pick)
    told = []
    found = down_from(assumed, window, pick, 2, lambda done, of: told.append((done, of)))
    assert found.looked[:, pick.j].all()
    assert not found.looked[:, pick.j + 1 :].any()
    assert np.array_equal(found.grid[found.looked], chance.grid[found.looked])
    assert np.isnan(found.grid[~found.looked]).all()
    assert told[-1][0] == told[-1][1] == 8 * (pick.j + 1)
    assert [done for done, _ in told] == sorted(done for done, _ in told)


def test_a_speed_is_given_up_only_where_it_cannot_have_the_chance(assumed, window, chance):
    for confidence in (0.3, 0.6, 0.9):
        limits = replace(EASED, confidence=confidence)
        asked = replace(window, limits=limits)
        pick = choose(asked)
        found = down_from(replace(assumed, limits=limits), asked, pick, 2)
        enough = [j for j in range(pick.j + 1) if (chance.grid[:, j] >= confidence).any()]
        looked = np.flatnonzero(found.looked.any(axis=0)).tolist()
        assert looked == sorted({pick.j, *([max(enough)] if enough else [])})


def test_measured_doubt_that_says_what_the_prior_says_gives_the_same_pick(assumed, fitted, window, chance):
    same = whole_grid(fitted, window, 1, 2)
    assert same.held.names == chance.held.names
    assert np.allclose(same.values, chance.values, rtol=1e-12)
    assert np.array_equal(same.met, chance.met)
    known = choose(window)
    a, b = (choose_sure(window, found, known) for found in (chance, same))
    assert (a.i, a.j, type(a)) == (b.i, b.j, type(b))


def test_with_nothing_in_doubt_the_pick_is_that_of_the_file_bit_for_bit(window, assumed):
    known = choose(window)
    for nothing in (uncertain(), uncertain(("soil.strength_MPa", 1.2, 1.0), ("soil.sinkage_exponent", 0.6, 0.0))):
        found = in_doubt(replace(assumed, uncertain=nothing), window)
        assert found.decides
        assert found.outcome == known
        assert set(np.unique(found.chance.grid)) <= {0.0, 1.0}
        assert np.array_equal(found.chance.grid == 1.0, meets(window, window.limits))
    prior = in_doubt(replace(assumed, prior=known_but()), window)
    assert (prior.outcome, prior.sure) == (known, known)


def test_a_spread_next_to_nothing_gives_the_same_pick(window, assumed):
    known = choose(window)
    tiny = uncertain(("soil.strength_MPa", 1.2, 1.0 + 1e-9), ("unit.disc.edge_width_mm", 5.0, 1.0 + 1e-9))
    found = in_doubt(replace(assumed, uncertain=tiny), window, 2)
    assert (found.sure.i, found.sure.j) == (known.i, known.j)
    assert set(np.unique(found.chance.grid)) <= {0.0, 1.0}


def test_a_value_without_effect_changes_nothing(assumed, window):
    told = ("soil.strength_MPa", 1.2, 1.6), ("stones.contact.stiffness_MN_per_m", 5.0, 2.0)
    with_it, without = (
        whole_grid(replace(assumed, uncertain=uncertain(*told[:n])), window, 1, 2) for n in (2, 1)
    )  # fmt: skip
    assert with_it.held.names == without.held.names == ("soil_strength",)
    assert np.array_equal(with_it.met, without.met)


def test_a_precharge_in_doubt_does_not_pass_or_break_the_rule(assumed):
    """The rule holds by the file's own precharge: it has its own room for a gauge that is off."""
    window = crossed(assumed, (30.0, 35.0, 60.0), (6.0,), 1)
    scenario = replace(assumed, uncertain=uncertain(("settings.precharge_bar", 24.0, 1.3)))
    rule = meets(replace(window), window.limits).any(axis=1)
    found = whole_grid(scenario, window, 1, 2)
    assert (found.grid[~rule] == 0.0).all()
    assert found.grid[1, 0] > 0.9
    assert rule.tolist() == [False, True, False]


def test_the_pick_by_the_chance(window, chance):
    """Fastest speed with the chance asked for, there the highest chance; ties: most room with the file's values."""
    known = choose(window)
    for share in np.unique(chance.grid):
        if share == 0.0:
            continue
        asked = replace(window, limits=replace(EASED, confidence=float(share)))
        found = choose_sure(asked, chance, known)
        enough = chance.grid >= share
        assert isinstance(found, Pick)
        assert found.j == np.flatnonzero(enough.any(axis=0)).max()
        assert chance.grid[found.i, found.j] == chance.grid[:, found.j].max() == found.chance
    none = choose_sure(replace(window, limits=replace(EASED, confidence=0.999)), _spoilt(chance), known)
    assert isinstance(none, Nearest)
    assert none.chance == _spoilt(chance).grid.max()


def _spoilt(chance):
    """The same with a set with which nothing is met."""
    met = chance.met.copy()
    met[0] = False
    return replace(chance, met=met)


@pytest.mark.parametrize(("confidence", "sets", "least"), [(0.8, 32, 26), (0.75, 32, 24), (0.999, 8, 8), (0.5, 1, 1)])
def test_how_many_sets_are_asked_for(confidence, sets, least):
    assert needed(confidence, sets) == least


def test_an_interval_that_a_table_knows(chance):
    """Clopper and Pearson for 0, 27 and 32 of 32, computed by root finding on the binomial sum here."""
    from scipy.optimize import brentq  # noqa: PLC0415
    from scipy.stats import binom  # noqa: PLC0415

    for good in (1, 27, 31):
        met = np.zeros((32, 1, 1), dtype=bool)
        met[:good] = True
        low, high = replace(chance, met=met).interval(0, 0)
        assert low == pytest.approx(brentq(lambda p: binom.sf(good - 1, 32, p) - 0.025, 1e-9, 1 - 1e-9))  # noqa: B023
        assert high == pytest.approx(brentq(lambda p: binom.cdf(good, 32, p) - 0.025, 1e-9, 1 - 1e-9))  # noqa: B023
    none = replace(chance, met=np.zeros((32, 1, 1), dtype=bool))
    assert none.interval(0, 0) == (0.0, pytest.approx(1.0 - 0.025 ** (1 / 32)))


# --- what is told ---------------------------------------------------------------------------------------------------


def test_no_chance_is_told_as_certain(chance):
    def said(good):
        met = np.zeros((32, 1, 1), dtype=bool)
        met[:good] = True
        return chance_words(replace(chance, met=met), 0, 0)

    assert said(32) == "above 89 % (all of 32 sets of values)"
    assert said(0) == "below 11 % (none of 32 sets of values)"
    assert said(27) == "84 % (27 of 32 sets of values)"


def test_screen_document_and_pick_of_fitted_values(fitted, window):
    prior = known_but("soil_strength")
    scenario = replace(fitted, uncertain=fitted.uncertain.only(["soil.strength_MPa"]), prior=prior)
    for confidence in (0.1, 0.999):
        asked = replace(scenario, limits=replace(EASED, confidence=confidence))
        told = advise(asked, replace(window, limits=asked.limits), 2)
        document = json.loads(json.dumps(advice_document(told), allow_nan=False))
        text, whole = window_text(told, asked), detailed_text(told, asked)
        assert max(map(len, text.splitlines())) <= 80
        assert np.shape(document["chance_all_limits"]) == (3, 3)
        assert document["doubt"]["decides"]
        assert [one["key"] for one in document["matters_most"]] in ([], ["soil.strength_MPa"])
        place = document["pick"] or document["nearest"]
        i, j = P.index(place["oil_pressure_bar"]), V.index(place["speed_kmh"])
        assert place["chance"] == document["chance_all_limits"][i][j] == told.outcome.chance
        assert place["chance_low_95"] <= place["chance"] <= place["chance_high_95"]
        known = choose(window)
        assert place["speed_if_known_kmh"] == pytest.approx(known.speed * 3.6)
        assert "of 8 sets of values)" in text
        if document["pick"] is not None:
            assert "\n  chance  " in text
            assert "left it" in text
            assert "\n  chance  " in whole
            assert ("with everything known" in text) == (told.outcome.speed < known.speed)
        else:
            flat = " ".join(text.split())
            assert flat.count("No setting to use") == 1
            assert "with a chance of 99.9 %, so none is to be set; the highest is" in flat
            assert headline(told.outcome).startswith("No setting to use: none of those tried meets every limit with a")
            assert "Measure soil strength (penetrometer at seeding depth)" in flat


def test_a_pick_on_assumed_values_is_that_of_the_file_with_its_chance_beside_it(assumed, window):
    scenario = replace(assumed, prior=known_but("soil_strength", "edge_width"))
    told = advise(scenario, window, 2)
    known = choose(window)
    assert told.outcome == known
    document = advice_document(told)
    assert not document["doubt"]["decides"]
    assert document["pick"]["speed_if_known_kmh"] == pytest.approx(known.speed * 3.6)
    assert document["pick"]["chance"] == told.doubt.chance.grid[known.i, known.j]
    flat = " ".join(window_text(told, scenario).split())
    assert "Soil and unit are the library's, made up (your own: rowbench fit): a chance" in flat
    assert max(map(len, window_text(told, scenario).splitlines())) <= 80


def test_progress_counts_sets_and_changes(assumed, window):
    scenario = replace(assumed, uncertain=uncertain(("soil.strength_MPa", 1.2, 1.6)))
    told = []
    advise(scenario, window, 2, lambda done, of: told.append((done, of)))
    assert told[0] == (1, 8 + 3)
    assert told[-1] == (11, 11)
    assert [done for done, _ in told] == list(range(1, 12))


def test_the_map_by_chance_holds_every_number_and_its_finding(fitted, window):
    from analysis.window.doubt.figure_chance import chance_figure  # noqa: PLC0415

    scenario = replace(fitted, limits=replace(EASED, confidence=0.4))
    asked = replace(window, limits=scenario.limits)
    doubt = in_doubt(scenario, asked, 2)
    figure = chance_figure(asked, doubt, scenario)
    assert amiss(figure) == []
    numbers = sorted(int(text.get_text()) for text in figure.axes[0].texts)
    assert numbers == sorted(round(share * 100.0) for share in doubt.chance.grid.ravel())
    said = " ".join(" ".join(text.get_text() for text in figure.texts).split())
    assert headline(doubt.outcome).split(" (")[0] in said
    assert "share of 8 sets of values with which all limits are met on every ground" in said
    if isinstance(doubt.outcome, Pick):
        assert "the fastest tried with a chance of 40 %" in said


def test_python_users_get_the_pick_by_chance_and_say_what_is_in_doubt(tmp_path):
    import rowbench as rb  # noqa: PLC0415

    told = {"keys": ["soil.strength_MPa"], "centre": [1.2], "spread": [1.5], "correlation": [[1.0]]}
    small = {"ground": {"length_m": 30}, "search": {"draws": 6, "seeds": 1}}
    made = rb.load("rough", uncertain=told, prior={"soil_strength_times": 1.1}, limits={"confidence": 0.3}, **small)
    assert made.prior.soil_strength_times == 1.1
    assert made.uncertain.keys == ("soil.strength_MPa",)
    found = rb.window(made, pressures_bar=[35, 40, 45], speeds_kmh=[6, 9], workers=2)
    outcome = found.pick or found.nearest
    assert outcome.chance == found.chance.grid[outcome.i, outcome.j]
    assert found.chance.sets == 6
    assert found.summary()["doubt"]["decides"]
    assert found.advice.outcome == outcome
    with pytest.raises(rb.ScenarioError, match=r"while \[uncertain\] is about 1.2 MPa"):
        made.changed(soil={"strength_MPa": 1.3})
    plain = rb.window(rb.load("rough", **small), pressures_bar=[35, 40, 45], speeds_kmh=[6, 9], workers=2)
    assert (plain.pick or plain.nearest) == choose(plain)


def test_beside_assumed_values_stands_a_safer_setting_or_that_there_is_none(assumed, window, chance):
    known, none = choose(window), Assumed(True, (), (), ())
    doubt = Doubt(chance, 0.8, known, known, decides=False)
    here = chance_words(chance, known.i, known.j, "sets")
    lead = "soil and unit are the library's, made up (your own: rowbench fit): a chance"
    assert assumed_words(doubt, none) == f"{lead} of {here} that every limit is met"
    slower = replace(known, i=0, j=0, oil_pressure=35e5, speed=6.0 / 3.6)
    at = chance_words(chance, 0, 0, "sets")
    assert assumed_words(replace(doubt, sure=slower), none).endswith(f"met; safer: 35 bar at 6 km/h, {at}")
    nothing = nearest_at(window, window.limits, 0, 0)
    assert assumed_words(replace(doubt, sure=nothing), none).endswith("met; no slower speed has 80 %")
    slowest = replace(doubt, known=replace(known, j=0), sure=nothing)
    assert assumed_words(slowest, none).endswith("met; 80 % is asked")
    own = Assumed(False, (BY_NAME["edge_width"],), (BY_NAME["soil_strength"],), ("soil.strength_MPa",))
    assert assumed_words(doubt, own).startswith(
        "1 of 2 values of soil and unit are assumed (your own: rowbench fit): a"
    )
    stated = replace(own, left=(), keys=())
    assert assumed_words(doubt, stated).startswith("soil and unit are your values, not fitted yet (rowbench fit)")


def test_reasons_by_chance_name_the_next_speed_and_the_pressures_beside(window, chance):
    pick = replace(pick_at(window, window.limits, 1, 1), chance=float(chance.grid[1, 1]))
    doubt = Doubt(chance, 0.8, pick, pick, decides=True)
    faster, lower, higher = reasons(window, pick, doubt)
    best = int(chance.met[:, :, 2].sum(axis=0).argmax())
    assert faster == (
        f"Faster: 12 km/h has at most {chance_words(chance, best, 2)}, at {P[best]:g} bar; 80 % is asked."
    )  # fmt: skip
    assert lower.startswith("Lower: 35 bar has ") or lower.startswith("Lower: at 35 bar none of 8 sets")
    assert higher.startswith("Higher: 45 bar has ") or higher.startswith("Higher: at 45 bar none of 8 sets")
    first = replace(pick_at(window, window.limits, 0, 2), chance=0.5)
    faster, lower, _ = reasons(window, first, doubt)
    assert faster == "Faster: 12 km/h is the fastest speed tried; faster was not looked at."
    assert lower == "Lower: 35 bar is the lowest pressure tried; lower was not looked at."
    assert reasons(window, pick, replace(doubt, decides=False)) == why(window, pick)
