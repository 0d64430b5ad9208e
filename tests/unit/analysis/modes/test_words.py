"""Sentences of `rowbench modes` from numbers that are given: each says what would be right to do."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from analysis.modes.crossed import Crossed
from analysis.modes.document import modes_document
from analysis.modes.found import Asked, find
from analysis.modes.words import finding, modes_text, ridge_sentences
from scenarios.load import load


@pytest.fixture(scope="module")
def found():
    return find(load("rough", changes={"ground.length_m": 30, "ground.roughness.class": "B"}))


def told(found, *swings, off=(), worst=None, source="asked", own=2):
    """The sentences with ridges of 20 mm crossed at 5, 6, 7 … km/h with these swings [mm]."""
    off = (*off, *(0.0,) * (len(swings) - len(off)))
    crossed = tuple(
        Crossed((5.0 + i) / 3.6, swing / 1e3, (worst or swing) / 1e3, share, 100.0)
        for i, (swing, share) in enumerate(zip(swings, off, strict=True))
    )
    scenario = replace(found.scenario, settings=replace(found.scenario.settings, speed=crossed[own].speed))
    made = replace(
        found, scenario=scenario, crossed=crossed, small=np.zeros(len(crossed)), asked=Asked(0.5, 0.02, source)
    )  # fmt: skip
    return ridge_sentences(made)


def test_a_peak_names_its_speed_and_the_speed_up_to_which_all_is_well(found):
    first, second, *_ = told(found, 8, 9, 16, 20, 15, off=(0, 0, 0, 0.2, 0.3))
    assert first == (
        "Ridges 0.50 m apart and 20 mm high shake it most at 8 km/h: depth ±20 mm (2.0 times their height), the gauge "
        "wheel off the ground 20 % of the way."
    )
    assert second == (
        "Up to 6 km/h the depth stays within ±10 mm on them, the wheel on the ground: drive no faster there. Faster is "
        "calmer again (9 km/h: ±15), but the wheel is off the ground 30 % of the way."
    )


def test_your_own_ridges_and_your_own_speed_are_named_so(found):
    assert told(found, 12, 14, 20, 15, source="file")[0].startswith(
        "Your ridges (0.50 m apart along the row, 20 mm high) shake it most at 7 km/h, your speed: "
    )
    assert told(found, 12, 14, 20, 15, source="worst")[0].startswith("At your 7 km/h ridges 0.50 m apart")


def test_slow_and_fast_may_both_be_right(found):
    same = "the depth stays within ±10 mm on them, the wheel on the ground; not at the others tried."
    assert told(found, 8, 14, 12, 9)[1] == f"At 5 and 8 km/h {same}"
    assert told(found, 20, 14, 8, 7)[1] == f"From 7 km/h on {same}"
    assert told(found, 20, 14, 12, 9)[1] == f"At 8 km/h {same}"


def test_harmless_ridges(found):
    sentences = told(found, 4, 5, 6, 5, source="file")
    assert (
        "do the depth no harm: at every speed tried, 5 to 8 km/h, it stays within ±10 mm (±4 to 6 mm)" in sentences[0]
    )
    assert not any(text.startswith(("Up to", "At", "No speed", "What would")) for text in sentences[1:])


def test_the_faster_the_worse_and_no_speed_that_will_do(found):
    first, second, *_ = told(found, 11, 13, 16, 20)
    assert "the faster, the worse. At 8 km/h depth ±20 mm (2.0 times their height); at 5 km/h ±11 mm." in first
    assert second == "No speed tried keeps ±10 mm on them; the calmest is 5 km/h (±11)."


def test_a_depth_that_is_off_all_along_is_not_called_calm(found):
    """Swings of 4 mm about a depth that is 12 mm out."""
    first, second, *_ = told(found, 4, 4, 4, worst=12)
    assert "speed makes little difference, depth ±4 mm from 5 to 7 km/h" in first
    assert second == (
        "No speed tried keeps the set depth within ±10 mm, though it swings by less: set the depth again."
    )


def test_a_speed_that_cannot_be_crossed_is_told_with_its_reason(found):
    crossed = (*found.crossed[:-1], Crossed(found.crossed[-1].speed, problem="the arm left its travel"))
    failed = replace(found, crossed=crossed)
    text = " ".join(modes_text(failed).split())
    assert "At 12 km/h they could not be crossed: the arm left its travel." in text
    assert modes_document(failed)["ridges"]["by_speed"][-1]["depth_swing_mm"] is None
    none = replace(found, crossed=tuple(Crossed(one.speed, problem="no") for one in found.crossed))
    assert ridge_sentences(none)[0].endswith("could not be crossed at any speed: no.")
    assert finding(none) == "These ridges could not be crossed"


def test_nothing_resonates_only_where_no_speed_stands_out(found):
    assert not finding(found).startswith("Nothing resonates")
    calm = replace(found, resonates=False, rule=None, crossed=(Crossed(2.0, 0.004, 0.004, 0.0, 9.0),) * 2)
    assert finding(calm).startswith("Nothing resonates within your speeds. ")


def test_the_short_screen_needs_no_ground_but_the_files_own(found):
    """Where small motions and the whole model part is crossed only for those who read it."""
    short = find(found.scenario, parted=False)
    assert short.rough.classes == ()
    assert short.rough.soil == ()
    assert found.rough.classes
    assert modes_text(short) == modes_text(found)
