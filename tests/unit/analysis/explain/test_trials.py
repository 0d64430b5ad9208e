"""Changes tried both ways: what helps is told whichever way, at its price; nothing is called gone that stays."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from every import every

from analysis.crossing.episodes import wheel_off_episodes
from analysis.explain.document import document, says
from analysis.explain.explain import explain
from analysis.explain.trials.changes import Event, Outcome, Price, Tried, Whole
from analysis.explain.trials.helping import suggestions
from analysis.explain.trials.knobs import DEPTH, PRECHARGE, PRESSURE, SPEED, VOLUME, Change, changed, changes
from analysis.explain.trials.sentences import no_cure_sentence, verdict
from analysis.explain.words import explain_text
from scenarios.load import load
from sim.hydraulics.working import keeps
from sim.run import prepare, simulate


@pytest.fixture(scope="module")
def hard_pressed():
    return explain(load("hump", changes={"settings.oil_pressure_bar": 90, "machine.rows": 4}), workers=1)


@pytest.fixture(scope="module")
def no_cushion():
    return explain(load("no_cushion"), workers=1)


@pytest.fixture(scope="module")
def gully():
    return explain(load("gully"), workers=1)


def plain(text: str) -> str:
    """A text on one line."""
    return " ".join(text.split())


def test_less_pressure_that_helps_is_told_first(hard_pressed):
    """On a hump at 90 bar the gas is what presses: more pressure makes it worse, less is the cure."""
    worst = hard_pressed.places[0]
    assert worst.best.change.knob == PRESSURE
    assert worst.best.change.step < 0
    assert worst.best.after < 0.6 * worst.best.before
    bar = f"{worst.best.change.value / 1e5:.0f} bar"
    said = says(hard_pressed, worst)[1]
    assert said.startswith(f"Helps most: less pressure, {bar} (−")
    figures = f"{worst.best.before * 1e3:.0f} to {worst.best.after * 1e3:.0f} mm"
    assert figures in said
    top = explain_text(hard_pressed, "Hump").splitlines()[:24]
    assert any("Helps most: less pressure" in line for line in top)
    assert "In short: worst at" in explain_text(hard_pressed, "Hump")


def test_the_gas_is_named_as_what_presses(hard_pressed):
    """Pressed to 135 bar, it gives most of the load that the wheel has over that when set."""
    place = hard_pressed.places[0].what
    causes = place.load.by_cause()
    assert max(causes, key=causes.get) == "gas"
    assert (
        f"from the gas, pressed to {place.oil_pressure / 1e5:.0f} bar (set to 90)"
        in says(hard_pressed, hard_pressed.places[0])[0]
    )


def test_every_knob_is_tried_both_ways(hard_pressed):
    ways = {(t.change.knob, t.change.way) for t in hard_pressed.tried}
    for knob in (PRESSURE, SPEED, DEPTH):
        assert {(knob, -1), (knob, 1)} <= ways
    assert (VOLUME, 1) in ways
    assert {(PRECHARGE, -1), (PRECHARGE, 1)} <= {(c.knob, c.way) for c in changes(load("hump"))}


@every("name", ["hump", "no_cushion", "hard_ground", "rough"])
def test_what_is_tried_can_be_set(name):
    scenario = load(name)
    found = changes(scenario)
    assert found
    for change in found:
        other = changed(scenario, change)
        made = prepare(other.unit, other.soil, other.stones.contact, other.settings)
        assert made.setting.reached
        assert change.knob != PRECHARGE or keeps(other.limits.gas_rule, other.unit, other.settings)


def test_where_the_pressure_holds_no_depth_the_first_that_do_are_tried():
    higher = [c for c in changes(load("hard_ground")) if c.knob == PRESSURE and c.way > 0]
    assert [c.edge()[0] for c in higher] == [60.0, 70.0]


def test_precharges_tried_are_those_that_suit():
    """At 40 bar some 19 to 29 bar do: both ways from 24; from 50, above the oil pressure, only down."""
    tried_at = {
        name: [c.edge()[0] for c in changes(load(name)) if c.knob == PRECHARGE] for name in ("rough", "no_cushion")
    }
    for found in tried_at.values():
        assert 18.0 < min(found) < 20.0
        assert 28.0 < max(found) < 30.0
    assert any(p < 24.0 for p in tried_at["rough"])


def test_a_precharge_that_gives_the_cushion_back_is_told(no_cushion):
    """No oil left is the cause of the wheel's longest way in the air: a lower precharge ends it."""
    longest = max(no_cushion.episodes, key=lambda t: t.what.length)
    assert longest.best.change.knob == PRECHARGE
    assert longest.best.change.step < 0
    assert longest.best.prevents
    text = plain(explain_text(no_cushion, "No cushion"))
    assert "a lower precharge, " in text
    assert "work for licensed people" in text


def test_a_place_belongs_to_the_episode_that_it_shares_most_ground_with(no_cushion):
    worst = no_cushion.places[0]
    other = no_cushion.part_of(worst)
    assert other.what.start <= worst.what.at <= other.what.start + other.what.length


@every("told", ["gully", "no_cushion", "hard_pressed"])
def test_nothing_is_called_gone_that_is_still_there(told, request):
    made = request.getfixturevalue(told)
    for t in made.all_told:
        for s in t.suggestions:
            gone = any(word in verdict(t.event, s) for word in ("no wheel-off", "no breakout", "within the tolerance"))
            assert gone == s.prevents
            if not gone:
                continue
            other = changed(made.scenario, s.change)
            run = simulate(other.unit, other.soil, made.scenario.track(), other.settings)
            if t.event.kind == "wheel_off":
                ends = [(e.start, e.start + e.length) for e in wheel_off_episodes(run, 0.010)]
                assert not any(a <= t.event.last and b >= t.event.first for a, b in ends)
                assert s.after < 0.10
    assert "prevent" not in explain_text(made, "x")


def whole(load: float, broken: frozenset[str] = frozenset()) -> Price:
    return Price(Whole(0.95, 0.0, load), (), broken)


def tried(knob: str, step: float, after: Outcome, price: Price) -> Tried:
    return Tried(Change(knob, 10.0 + step, step), (after,), price.whole, price)


def test_an_episode_hardly_shorter_is_not_called_gone():
    """0.57 to 0.52 m with no single piece of 0.10 m left that counts as an episode: not gone, and no help either."""
    event, before, now = Event("wheel_off", 1.0, 1.6), Outcome(0.57, True, 0.03), whole(1000.0)
    hardly = [tried(PRESSURE, 1.0, Outcome(0.52, False, 0.03), now)]
    assert suggestions([event], [before], hardly, now) == ((),)
    shorter = [tried(PRESSURE, 1.0, Outcome(0.45, False, 0.03), now)]
    found = suggestions([event], [before], shorter, now)[0][0]
    assert not found.prevents
    assert verdict(event, found) == "shortens wheel off from 0.57 to 0.45 m"


def test_what_breaks_no_limit_goes_first_and_another_depth_last():
    event, before, now = Event("place", 1.0, 1.6), Outcome(0.030, True, 0.030), whole(1000.0)
    ok = Outcome(0.020, True, 0.020)
    found = suggestions([event], [before], [
        tried(DEPTH, -1.0, Outcome(0.001, False, 0.001), now),
        tried(PRESSURE, 1.0, Outcome(0.002, False, 0.002), whole(1400.0, frozenset({"gauge_load_max"}))),
        tried(SPEED, -1.0, ok, now),
    ], now)[0]  # fmt: skip
    assert [s.change.knob for s in found] == [SPEED, PRESSURE, DEPTH]
    assert [s.advised for s in found] == [True, True, False]
    assert found[1].breaks == {"gauge_load_max"}


def test_a_broken_rule_is_said():
    """More pressure in the hollow of a soft spot: of 60 bar the precharge of 24 is too little."""
    made = explain(load("rough", changes={"settings.oil_pressure_bar": 30}), 0.0, 150.0, workers=1)
    limits = {name for t in made.tried for name in t.price.broken}
    assert "precharge_share_max" in limits
    found = [(t, s) for t in made.all_told for s in t.suggestions if "precharge_share_max" in s.breaks | s.price.broken]
    assert found
    t, s = found[0]
    s = replace(s, breaks=frozenset({"precharge_share_max"}))
    said = no_cure_sentence(t.event, [s])
    assert said.startswith("Nothing tried helps here within the limits. To know, not to set: ")
    assert " of the lowest working pressure (at most 0.9 asked)" in said


def test_faster_is_no_cure_for_a_wheel_in_the_air_or_a_stone():
    now = whole(1000.0)
    for kind in ("wheel_off", "breakout"):
        event, before = Event(kind, 1.0, 1.6), Outcome(0.5, True, 0.05)
        assert suggestions([event], [before], [tried(SPEED, 1.0, Outcome(0.0, False, 0.0), now)], now) == ((),)


def test_a_shorter_episode_with_a_larger_error_says_so(gully):
    """Slower over the gully the wheel is off for less ground, but the disc rises higher."""
    t = gully.episodes[0]
    s = next(s for s in t.suggestions if s.worsens)
    before, after = (round(error * 1e3) for error in s.errors)
    assert after > before
    assert f"but the depth error there grows from {before} to {after} mm" in " ".join(says(gully, t))


def test_the_price_is_that_of_the_whole_ground_whatever_the_stretch():
    scenario = load("hump", changes={"settings.oil_pressure_bar": 90})
    part, full = explain(scenario, 18.0, 22.0, workers=1), explain(scenario, workers=1)
    assert part.price.whole == full.price.whole
    best = part.places[0].best
    assert best.price.whole == next(t for t in full.tried if t.change == best.change).whole
    assert document(part)["ground"]["on_depth_share"] == full.whole.on_depth_share
    assert document(part)["stretch"]["on_depth_share"] < document(part)["ground"]["on_depth_share"]


@every("told", ["gully", "no_cushion", "hard_pressed"])
def test_the_table_fits_a_narrow_screen_and_marks_what_is_beyond_a_limit(told, request):
    made = request.getfixturevalue(told)
    text = explain_text(made, "x")
    lines = text.splitlines()
    start = next(n for n, line in enumerate(lines) if line.startswith("Tried, whole ground"))
    rows = lines[start : start + 2 + len(made.tried)]
    assert max(map(len, rows)) <= 78
    limits = made.scenario.limits
    for t, line in zip(made.tried, rows[2:], strict=True):
        w = t.price.whole
        letters = line.rpartition(" ")[2].removesuffix("!") if re.search(r" [a-z]+!$", line) else ""
        others = t.price.broken - {"on_depth_share_min", "wheel_off_share_max", "gauge_load_min", "gauge_load_max"}
        assert len(letters) == len(others)
        assert all(f"{letter}: " in plain(text) for letter in letters)
        marks = re.findall(r"[\d.]+ (?:%|kN)!?", line)
        assert [m.endswith("!") for m in marks] == [
            limits.holds("on_depth_share_min") and w.on_depth_share < limits.on_depth_share_min,
            limits.holds("wheel_off_share_max") and w.wheel_off_share > limits.wheel_off_share_max,
            not limits.gauge_load_min <= w.gauge_load_mean <= limits.gauge_load_max,
        ]


def test_another_accumulator_is_told_as_another_part(hard_pressed):
    s = next(s for s in hard_pressed.places[0].suggestions if s.change.knob == VOLUME)
    other = changed(hard_pressed.scenario, s.change)
    assert other.unit.accumulator.volume == s.change.value
    assert (
        "a bigger accumulator, 1.4 l in place of 0.7 l (another part)" in says(hard_pressed, hard_pressed.places[0])[2]
    )


def test_the_screen_is_short_and_all_of_it_is_an_option(no_cushion):
    brief, full = plain(explain_text(no_cushion, "x")), plain(explain_text(no_cushion, "x", everything=True))
    assert "--all tells all" in brief
    assert "--all" not in full
    assert full.count("Cause: ") == len(no_cushion.episodes) > brief.count("Cause: ")


def test_one_change_has_its_price_told_once(no_cushion):
    text = plain(explain_text(no_cushion, "x"))
    changes_told = re.findall(r"Helps most: (.*?): [^:]*\. Whole ground then", text)
    assert len(changes_told) == len(set(changes_told))


def test_a_change_of_what_is_shared_is_the_whole_accumulator():
    scenario = load("hump")
    shared = replace(scenario, unit=replace(scenario.unit, accumulator=replace(scenario.unit.accumulator, shared_by=2)))
    assert {c.value for c in changes(shared) if c.knob == VOLUME} == {1.5 * 0.7e-3, 2.0 * 0.7e-3}


def test_what_breaks_a_limit_is_no_cure():
    """On soft spots at 55 bar only what lifts the wheel for a sixth of the way helps: told, and not to be set."""
    changes = {"settings.oil_pressure_bar": 55, "settings.speed_kmh": 7.5, "settings.set_depth_mm": 35,
               "soil.strength_MPa": 1.5, "limits.on_depth_share_min": 0.85, "limits.pin_peak_max_N": 9000}  # fmt: skip
    made = explain(load("rough", changes=changes), workers=1)
    told = [t for t in made.places if t.suggestions and t.suggestions[0].breaks and t.suggestions[0].advised]
    assert told
    for t in told:
        assert t.best is None
        text = " ".join(says(made, t))
        assert "To know, not to set: " in text
        assert "Helps most" not in text


def test_the_best_over_the_whole_ground_keeps_all_limits(hard_pressed, no_cushion):
    assert hard_pressed.best_of_all is None  # the wheel's load stays beyond its limit whatever single change is made
    assert "no single change tried keeps all limits" in plain(explain_text(hard_pressed, "x"))
    best = no_cushion.best_of_all
    assert not best.price.broken
    kept = [t.price.whole.on_depth_share for t in no_cushion.tried if not t.price.broken and t.change.knob != DEPTH]
    assert best.price.whole.on_depth_share >= max(kept) - 0.001
    assert document(no_cushion)["best_over_ground"]["to"] == best.change.edge()[0]


@every("told", ["gully", "no_cushion", "hard_pressed"])
def test_the_worst_place_and_its_cure_stand_on_the_first_screen(told, request, monkeypatch):
    """On 80 by 24: what is wrong and what helps most, or that nothing does."""
    monkeypatch.setenv("COLUMNS", "80")
    text = explain_text(request.getfixturevalue(told), "x")
    top = text.splitlines()[:24]
    assert max(map(len, text.splitlines())) <= 80
    first = next(n for n, line in enumerate(top) if line.startswith("  1. "))
    second = next((n for n, line in enumerate(top) if line.startswith("  2. ")), 24)
    said = " ".join(" ".join(top[first:second]).split())
    assert "Helps most" in said or "Nothing tried helps" in said
