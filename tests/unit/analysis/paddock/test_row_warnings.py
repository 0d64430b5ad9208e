"""What the rows of a paddock warn of: counted by setting and kind, the worst told with its place."""

from __future__ import annotations

import json

from analysis.paddock.heeds import Warned, plain, put, told, warned_from
from sim.heeds import Heed

LITTLE = Heed("little_gas", "gas fills only 15 %", -0.15)


def lost(squash):
    return Heed("gauge_lost", f"pressed {squash * 1e3:.0f} mm", squash, barred=True)


def gathered():
    """Setting 0: all six rows of three passes have little gas, two lose a wheel; setting 1: one does."""
    found = {}
    for number in range(3):
        for row in range(2):
            put(found, Warned(0, LITTLE, number, row))
    put(found, Warned(0, lost(0.25), 0, 1))
    put(found, Warned(0, lost(0.38), 2, 0))
    put(found, Warned(1, lost(0.30), 1, 1))
    return found


def test_rows_are_counted_and_the_worst_is_named():
    found = gathered()
    assert {key: w.rows for key, w in found.items()} == {
        (0, "little_gas"): 6, (0, "gauge_lost"): 2, (1, "gauge_lost"): 1
    }  # fmt: skip
    first = told(found.values(), 0, 6)
    assert [heed.text for heed in first] == [
        LITTLE.text,
        "pass 3, row 1: pressed 380 mm (2 of 6 rows warn of it, this one most)",
    ]
    assert [heed.barred for heed in first] == [False, True]
    assert [heed.text for heed in told(found.values(), 1, 6)] == ["pass 2, row 2: pressed 300 mm"]
    assert told(found.values(), 2, 6) == ()


def test_what_only_some_rows_say_alike_is_told_with_a_place():
    found = {}
    for row in (2, 3):
        put(found, Warned(0, LITTLE, 0, row))
    (one,) = told(found.values(), 0, 6)
    assert one.text == "pass 1, row 3: gas fills only 15 % (2 of 6 rows warn of it, this one most)"


def test_they_are_stored_as_json_and_joined_pass_by_pass():
    found = gathered()
    assert warned_from(json.loads(json.dumps(plain(found)))) == found
    joined = {}
    for part in (found, found):
        for warned in part.values():
            put(joined, warned)
    assert joined[0, "gauge_lost"].rows == 4
    assert joined[0, "gauge_lost"].heed == lost(0.38)
    assert joined[0, "little_gas"].alike
