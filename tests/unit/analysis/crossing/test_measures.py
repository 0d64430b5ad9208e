"""Descriptions of measures: whole, in step with the limits' keys, and enough to add one with a limit."""

import json
from dataclasses import dataclass, fields, replace

import h5py
import invented
import numpy as np
import paddocks
import pytest
from single_crossings import cross

from analysis.crossing.measures import MEASURES, Join, Measure, by_row, by_section, in_window
from analysis.crossing.summary import run_summary
from analysis.paddock.batch import run_batch
from analysis.paddock.export import section_rows
from analysis.paddock.summary import summarise, to_dict
from analysis.paddock.table import load_table
from analysis.rows.cells import lay
from analysis.window.advice_document import choice_document
from analysis.window.cross_grid import search
from analysis.window.document import window_document
from analysis.window.limits import checks, given, limits_of, meets
from analysis.window.pick import choose
from scenarios.format.errors import ScenarioError
from scenarios.spec import Limits
from sim.run import simulate
from sim.unit import quantity

# keys of the limits that bound no measure, each with its reason
NO_MEASURE = {
    "depth_tolerance": "says what counts as on depth",
    "gas_pressure_warning": "a run warns above it; no setting fails with it",
    "max_oil_pressure": "bounds a setting, not what comes of it",
    "set_depth_min": "bounds a setting, not what comes of it",
    "set_depth_max": "bounds a setting, not what comes of it",
    "confidence": "bounds the chance that the others are met",
    "on_feature": "says which limits hold; no key of a file",
}
JOINED_IN_A_PADDOCK = (Join.MEAN, Join.SCATTER, Join.HIGHEST, Join.LOWEST, Join.SUM)


def test_every_limit_of_a_scenario_bounds_one_measure():
    names = [name for m in MEASURES.values() for name in (m.at_least, m.at_most) if name]
    assert sorted(names) == sorted({field.name for field in fields(Limits)} - set(NO_MEASURE))


def test_limits_are_in_the_unit_of_their_measure_and_have_words():
    for limit in (*limits_of(Limits()), *limits_of(Limits(on_feature=True))):
        m = MEASURES[limit.measure]
        (field,) = (field for field in fields(Limits) if field.name == limit.name)
        assert field.metadata["unit"] == ("1/km" if m.join is Join.COUNT else m.unit), limit.name
        assert limit.words, limit.name
        assert limit.least == limit.name.endswith("_min"), limit.name


def test_what_has_a_limit_is_known_in_a_window_and_in_a_paddock():
    for m in MEASURES.values():
        if m.at_least or m.at_most:
            assert "window" in m.kept, m.name
            in_paddock = "section" in m.kept and m.join in JOINED_IN_A_PADDOCK
            # a paddock's ground is never one feature
            elsewhere = not Limits().holds(m.at_least or m.at_most) and not m.kept[1:]
            assert in_paddock or m.join in (Join.SETTING, Join.OVER_SET_DEPTH) or m.events or elsewhere, m.name


def test_names_and_keys_are_given_once_and_partners_are_there():
    for names in (
        [m.window_key for m in in_window()], [m.paddock_key for m in by_section().values()],
        [m.run_key for m in MEASURES.values() if m.run_key],
    ):  # fmt: skip
        assert len(names) == len(set(names))
    assert len(by_section()) == sum("section" in m.kept for m in MEASURES.values())
    assert len(by_row()) == sum("row" in m.kept for m in MEASURES.values())
    for m in MEASURES.values():
        assert m.doc, m.name
        assert (m.join in (Join.SCATTER, Join.OVER_SET_DEPTH, Join.WITH_HIGHEST)) == (m.partner in MEASURES), m.name
        assert (m.join is Join.COUNT) == bool(m.events), m.name


def test_a_measure_that_is_kept_needs_a_formula():
    with pytest.raises(ValueError, match="no formula"):
        Measure(name="empty", unit="1", doc="nothing", join=Join.MEAN, kept=("window",))


def test_the_document_of_a_run_holds_every_measure_with_a_key():
    scenario = invented.short_scenario("rough", 6.0)
    document = run_summary(invented.made_run(gauge_load=500.0), scenario)
    for m in MEASURES.values():
        if m.run_key:
            part, key = m.run_key.split(".")
            assert document[part][key] is not None, m.run_key
    assert document["gauge_load"]["mean_N"] == document["gauge_load"]["p05_N"] == pytest.approx(500.0)


# --- a measure that is made up, with a limit ----------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class MoreLimits(Limits):
    """Limits with the key of the made-up one."""

    rebound_min: float = quantity(300.0, "N", 0.0, 1e5, "least scatter of the press load")


REBOUND = Measure(
    name="rebound", unit="N", doc="scatter of the press load, made up", join=Join.HIGHEST,
    run=lambda m: m.press.sd, rows=lambda r: r.sd("press_load"), kept=("window", "section", "row"),
    run_key="press_load.rebound_N", words="rebound of the press wheel", at_least="rebound_min",
)  # fmt: skip


@pytest.fixture
def added(monkeypatch):
    """The registry with one measure more: nothing else is told of it."""
    monkeypatch.setitem(MEASURES, "rebound", REBOUND)


def asked(newtons):
    """Limits that bound the made-up measure and nothing else that could fail."""
    return MoreLimits(on_depth_share_min=0.0, wheel_off_share_max=1.0, gauge_load_min=0.0, gauge_load_max=2e4,
                      rebound_min=newtons, **invented.ANY_PRECHARGE)  # fmt: skip


@pytest.mark.usefixtures("added")
def test_a_measure_added_is_in_runs_and_windows_and_their_limits():
    scenario = replace(invented.short_scenario("rough", 12.0), limits=asked(1e4))
    made = search(scenario, [60.0], [8.0, 10.0], 2, workers=1)
    settings = replace(scenario.settings, oil_pressure=60e5, speed=8.0 / 3.6, setting="redone")
    run = simulate(scenario.unit, scenario.soil, scenario.track(), settings)
    value = run.series["press_load"].std()
    assert run_summary(run, scenario)["press_load"]["rebound_N"] == value > 10.0
    assert cross(scenario, lay(scenario, (1,))[0], settings, False).value("rebound") == value
    assert made.grids["rebound"][0, 0, 0] == pytest.approx(value, rel=1e-9)

    document = window_document(made)
    assert document["rebound_N"] == [[made.grids["rebound"][0, j].max() for j in (0, 1)]]
    assert document["by_seed"]["rebound_N"] == made.grids["rebound"].tolist()
    assert document["limits"]["rebound_min_N"] == 1e4
    assert document["meets_limits"] == [[False, False]]
    json.dumps(document, allow_nan=False)

    tightest = checks(made, made.limits, 0, 0)[0]
    least = float(made.grids["rebound"][0, 0].min())
    assert tightest.sentence().startswith(f"rebound of the press wheel {least:.0f} N (ground ")
    assert tightest.sentence().endswith("against at least 10000 N")
    assert choice_document(made, choose(made))["fails"] == ["rebound_min_N"]
    assert meets(made, asked(0.5 * float(made.grids["rebound"].min()))).all()


@pytest.mark.usefixtures("added")
def test_a_measure_added_is_in_a_paddocks_file_table_document_and_limits(tmp_path):
    paddock = paddocks.small(tmp_path, {"passes": "count = 1\nlength_m = 20\nsection_m = 5"})
    run_batch(paddock, tmp_path / "r.h5", workers=1)
    with h5py.File(tmp_path / "r.h5") as file:
        kept = file["rebound"][...]
        assert (file["rebound"].attrs["units"], file["rebound"].attrs["long_name"]) == ("N", REBOUND.doc)
        assert kept.shape == (2, 1, 5, 4)
        assert (file["row_rebound"][...] > 0.5 * kept.min(axis=3)).all()
    table = load_table(tmp_path / "r.h5")
    highest = [float(kept[number].max()) for number in (0, 1)]
    assert len(set(highest)) == 2
    assert table.window(table.limits).grids["rebound"][:, 0, 0].tolist() == highest
    found = to_dict(summarise(table, asked(1e5)))
    assert [setting["rebound_N"] for setting in found["settings"]] == highest
    assert found["limits"]["rebound_min_N"] == 1e5
    assert "rebound of the press wheel" in found["nearest"]["checks"][0]
    assert "pick" in to_dict(summarise(table, asked(min(highest))))
    assert next(section_rows(table, 1))["rebound_N"] == pytest.approx(kept[1, 0, 0, 0], rel=1e-5)


def test_a_result_made_before_a_measure_says_so(tmp_path, monkeypatch):
    paddock = paddocks.small(tmp_path, {"passes": "count = 1\nlength_m = 10"})
    run_batch(paddock, tmp_path / "r.h5", workers=1)
    assert "rebound" not in load_table(tmp_path / "r.h5").sections
    monkeypatch.setitem(MEASURES, "rebound", REBOUND)
    with pytest.raises(ScenarioError, match="made before rebound was kept"):
        load_table(tmp_path / "r.h5")


def test_a_limit_without_its_key_in_the_file_is_not_asked(added):
    assert "rebound" not in [limit.measure for limit, _ in given(Limits())]
    assert given(asked(5.0))[-1][1] == 5.0


def test_the_registry_is_as_before():
    assert "rebound" not in MEASURES
    assert "rebound_N" not in json.dumps(window_document(invented.window((1, 1, 1))))
    assert np.isfinite(invented.window((1, 1, 1)).grids["pin_peak"]).all()
