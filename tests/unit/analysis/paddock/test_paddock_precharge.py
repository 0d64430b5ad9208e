"""A paddock's settings are held against the rule for the precharge as a window's are."""

from __future__ import annotations

from dataclasses import replace

import h5py
import paddocks
import pytest

from analysis.paddock.batch import run_batch
from analysis.paddock.summary import summarise, to_dict
from analysis.paddock.table import load_table
from analysis.paddock.words import paddock_text
from analysis.storage.sealed import seal, unsealed
from analysis.window.limits import meets
from analysis.window.pick import Nearest, Pick
from scenarios.format.errors import ScenarioError
from scenarios.spec import Limits
from sim.hydraulics.working import ratios

EASY = Limits(on_depth_share_min=0.0, wheel_off_share_max=1.0, gauge_load_min=0.0, gauge_load_max=2e4)


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Two pressures on a precharge of 24 bar, which suits 32.7 to 50.9 bar of oil; the file that holds them."""
    folder = tmp_path_factory.mktemp("paddock")
    paddock = paddocks.small(folder, {"passes": "count = 1\nlength_m = 10"})
    run_batch(paddock, folder / "r.h5", workers=1)
    return paddock, folder / "r.h5"


def test_only_pressures_that_suit_are_picked_and_the_others_say_why(made):
    paddock, path = made
    table = load_table(path)
    for i, bar in enumerate((45e5, 60e5)):
        found = ratios(paddock.unit, replace(paddock.settings, oil_pressure=bar))
        assert (table.by_setting["precharge_share"][i], table.by_setting["gas_squeeze"][i]) == found
    assert meets(table.window(EASY), EASY)[:, 0].tolist() == [True, False]
    assert summarise(table, EASY).choice.oil_pressure == 45e5
    both = replace(EASY, gas_squeeze_max=10.0)
    assert meets(table.window(both), both).all()
    none = summarise(table, replace(EASY, gas_squeeze_max=2.0))
    assert isinstance(none.choice, Nearest)
    (check,) = [text for text in to_dict(none)["nearest"]["checks"] if text.startswith("gas squeeze (cold)")]
    assert check.endswith("times the precharge against at most 2")
    assert isinstance(summarise(table, EASY).choice, Pick)


def test_what_the_precharge_suits_is_told_once(made):
    _, path = made
    (note,) = [text for text in load_table(path).warnings if "precharge" in text]
    assert note == (
        "a precharge of 24 bar suits 32.7 to 50.9 bar of oil (limits.precharge_share_max, gas_squeeze_max): 1 of the 2 "
        "pressures tried lies outside and is not picked"
    )
    said = " ".join(paddock_text(summarise(load_table(path), EASY)).split())
    assert said.count("suits 32.7 to 50.9 bar of oil") == 1


def test_nothing_is_told_where_all_suit(tmp_path):
    tables = {"search": "pressures_bar = [40, 45]\nspeeds_kmh = [8]", "passes": "count = 1\nlength_m = 5"}
    run_batch(paddocks.small(tmp_path, tables), tmp_path / "r.h5", workers=1)
    assert not [text for text in load_table(tmp_path / "r.h5").warnings if "precharge" in text]


def test_a_result_made_before_the_rule_is_refused(made, tmp_path):
    older = tmp_path / "older.h5"
    older.write_bytes(unsealed(made[1].read_bytes()))
    with h5py.File(older, "r+") as file:
        del file["precharge_share"], file["gas_squeeze"]
    seal(older)
    with pytest.raises(ScenarioError, match="made before precharge_share, gas_squeeze was kept"):
        load_table(older)
