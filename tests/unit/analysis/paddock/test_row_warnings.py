"""What the rows of a paddock warn of: counted by setting and kind, the worst told with its place."""

from __future__ import annotations

import json

import h5py
import numpy as np
import paddocks
import pytest

from analysis.paddock.batch import run_batch
from analysis.paddock.heeds import Warned, in_order, over_pressure, plain, put, told, warned_from
from analysis.paddock.summary import summarise, to_dict
from analysis.paddock.table import load_table
from analysis.paddock.words import paddock_text
from analysis.storage.sealed import seal
from analysis.window.pick import Nearest
from scenarios.format.errors import ScenarioError
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


def at(found, setting):
    return in_order(w for w in found.values() if w.setting == setting)


def test_rows_are_counted_and_the_worst_is_named():
    found = gathered()
    assert {key: w.rows for key, w in found.items()} == {
        (0, "little_gas"): 6, (0, "gauge_lost"): 2, (1, "gauge_lost"): 1
    }  # fmt: skip
    first = told(at(found, 0), 6)
    assert [heed.text for heed in first] == [
        LITTLE.text,
        "pass 3, row 1: pressed 380 mm (2 of 6 rows warn of it, this one most)",
    ]
    assert [heed.barred for heed in first] == [False, True]
    assert [heed.text for heed in told(at(found, 1), 6)] == ["pass 2, row 2: pressed 300 mm"]
    assert told(at(found, 2), 6) == ()


def test_what_only_some_rows_say_alike_is_told_with_a_place():
    found = {}
    for row in (2, 3):
        put(found, Warned(0, LITTLE, 0, row))
    (one,) = told(at(found, 0), 6)
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


def test_the_files_pressure_is_held_against_what_is_kept():
    found = {}
    over_pressure(found, 1, np.array([[150e5, 210e5], [201e5, 200e5]]), 200e5)
    (one,) = found.values()
    assert (one.setting, one.rows, one.number, one.row) == (1, 2, 0, 1)
    assert one.heed.text == "oil pressure reached 210 bar, above 200 bar (limits.gas_pressure_warning_bar)"
    over_pressure(found, 2, np.array([[150e5]]), 200e5)
    assert len(found) == 1


SMALL_GAS = "[settings]\nprecharge_bar = 8\n[unit.accumulator]\nvolume_l = 0.05"


def test_a_paddock_tells_them_on_its_screen_and_in_its_document(tmp_path):
    """A small accumulator, whose gas lies below a quarter at every setting."""
    made = paddocks.small(tmp_path, {"passes": "count = 2\nlength_m = 10\nsection_m = 5"}, SMALL_GAS)
    out = tmp_path / "small.h5"
    run_batch(made, out, 1, None, None)
    table = load_table(out)
    summary = summarise(table)
    document = to_dict(summary)
    of = table.row_y.size
    for setting in document["settings"]:
        (little,) = [w for w in setting["warnings"] if w["kind"] == "little_gas"]
        assert (little["rows"], little["barred"]) == (of, False)
        assert "gas fills only" in little["says"]
        assert "pass" not in little["says"]
    said = document["nearest" if isinstance(summary.choice, Nearest) else "pick"]["warnings"]
    assert list(summary.choice.warnings) == said
    text = paddock_text(summary)
    assert text.count("Warning:") == len(said)
    assert "Of the other setting: gas below a quarter of the accumulator at 1" in " ".join(text.split())
    sensitive = summarise(table, made.limits.__class__(gas_pressure_warning=40e5))
    assert any("limits.gas_pressure_warning_bar" in warning for warning in sensitive.choice.warnings)


def test_a_result_that_lost_its_warnings_is_refused(tmp_path):
    made = paddocks.small(tmp_path, {"passes": "count = 1\nlength_m = 5\nsection_m = 5"})
    out = tmp_path / "small.h5"
    run_batch(made, out, 1, None, None)
    assert set(load_table(out).warnings) >= set(made.warnings)
    with h5py.File(out, "r+") as file:
        del file["inputs"]["heeds"]
    seal(out)
    with pytest.raises(ScenarioError, match="inputs/heeds: missing"):
        load_table(out)
