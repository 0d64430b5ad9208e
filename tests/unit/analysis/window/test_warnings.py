"""Warnings of a window's cells: those of a run of the same crossing, told at the pick, and what is never picked."""

from __future__ import annotations

from dataclasses import replace

import invented
import numpy as np
import pytest
from every import every

from analysis.crossing.heed import warnings_of
from analysis.rows.cells import lay
from analysis.rows.crossings import Cell, cross_all
from analysis.window.advice_document import choice_document
from analysis.window.cross_grid import assemble
from analysis.window.document import window_document
from analysis.window.help_words import helps
from analysis.window.limits import choosable, hindrance, meets
from analysis.window.pick import Nearest, Pick, choose
from analysis.window.sentences import caution_notes, elsewhere_notes, nearest_sentence, warning_notes
from scenarios.ground.steps import Edge
from sim.heeds import KINDS, OPEN_SHARE, Heed
from sim.run import met_by, simulate
from sim.unit import Accumulator, Clearance

PLACE = "ground 1"


def with_unit(scenario, **parts):
    return replace(scenario, unit=replace(scenario.unit, **parts))


def walled(height):
    """Flat ground with a face straight up, 6 m into the measured stretch."""
    scenario = invented.short_scenario("smooth", 12.0)
    edge = Edge(at=scenario.x_from + 6.0, step=height, run=0.02)
    return replace(scenario, ground=replace(scenario.ground, features=(edge,)))


def cases():
    """Scenarios that warn of each kind but the energy, with pressures [bar] and speeds [km/h] to try."""
    small = with_unit(invented.short_scenario("rough", 25.0), accumulator=Accumulator(volume=0.05e-3))
    shared = with_unit(invented.short_scenario("rough"), accumulator=Accumulator(volume=5.6e-3, shared_by=8))
    stiff = with_unit(invented.short_scenario("rough"), accumulator=Accumulator(volume=0.1e-3))
    stony = invented.short_scenario("stony")
    hard = replace(stony, stones=replace(stony.stones, contact=replace(stony.stones.contact, stiffness=20e6)))
    rough = invented.short_scenario("rough")
    damped = with_unit(rough, gauge_wheel=replace(rough.unit.gauge_wheel, tyre_damping=300.0))
    return {
        "hard stones": (hard, (40, 60), (8.0,)),
        "small accumulator": (small.with_settings(precharge=8e5), (40, 60, 90), (6.0, 9.0)),
        "shared accumulator": (shared, (40, 60), (8.0,)),
        "hot gas in little room": (stiff.with_settings(precharge=90e5, gas_temperature=333.15), (100, 150), (10.0,)),
        "no cushion": (invented.short_scenario("no_cushion"), (20, 60), (8.0,)),
        "hard ground": (invented.short_scenario("hard_ground"), (20, 40), (6.0, 10.0)),
        "a wall": (walled(0.3), (40, 60), (5.0, 8.0)),
        "half a wall": (walled(0.12), (40, 60), (5.0, 8.0)),
        "soft tyre": (damped, (40, 60), (8.0,)),
        "worn pins": (with_unit(rough, clearance=Clearance(0.002, 0.002, 0.002)), (35, 40), (8.0,)),
        "nothing": (invented.short_scenario("rough"), (40, 50), (8.0,)),
    }


@pytest.fixture(scope="module")
def found():
    """Of every case: its settings with ground and heeds as rows give them, and as single runs."""
    made = {}
    for name, (scenario, bars, speeds) in cases().items():
        laid = lay(scenario, (1, 2))
        cells = [
            Cell(replace(scenario.settings, oil_pressure=p * 1e5, speed=v / 3.6, setting="redone"), k)
            for p in bars
            for v in speeds
            for k in range(len(laid))
        ]
        made[name] = (scenario, laid, cells, cross_all(scenario, laid, cells, False))
    return made


@every("name", cases())
def test_a_cell_warns_of_what_a_run_of_it_does(found, name):
    scenario, laid, cells, crossings = found[name]
    crossed = 0
    for cell, crossing in zip(cells, crossings, strict=True):
        if crossing.problem:
            continue
        ground = laid[cell.ground]
        run = simulate(scenario.unit, scenario.soil, ground.track, cell.settings, tables=ground.tables)
        told = warnings_of(run, replace(scenario, warnings=()))
        said = [heed.text for heed in crossing.heeds]
        if run.energy.residual_share > OPEN_SHARE >= run.energy.sampled_share:  # of the part that rows do not keep
            told = [text for text in told if "the energy balance is open" not in text]
        assert said == told
        crossed += 1
    assert crossed


def test_all_kinds_were_met(found):
    met = {heed.kind for _, _, _, crossings in found.values() for crossing in crossings for heed in crossing.heeds}
    assert met >= set(KINDS) - {"energy", "press_deep", "press_lost", "gauge_deep"}
    assert not any(crossing.heeds for crossing in found["nothing"][3])


def window(heeds, shape=(2, 2, 2), **grids):
    return replace(invented.window(shape, **grids), heeds=heeds)


LITTLE = Heed("little_gas", "gas fills only 15 %", -0.15)
LOST = Heed("gauge_lost", "the gauge wheel was pressed 383 mm", 0.383, barred=True)
OPEN = Heed("energy", "the energy balance is open", 2e-3, barred=True)


@every("heed", [LOST, OPEN])
def test_what_is_not_to_be_trusted_is_never_picked(heed):
    """On one ground of the two is enough; the screen says why."""
    good = invented.window((2, 2, 2))
    first = choose(good)
    assert isinstance(first, Pick)
    barred = window({(first.i, first.j, 1): (heed,)})
    second = choose(barred)
    assert isinstance(second, Pick)
    assert (second.i, second.j) != (first.i, first.j)
    assert not meets(barred, barred.limits)[first.i, first.j]
    assert choosable(barred, barred.limits).sum() == 3
    said = hindrance(barred, barred.limits, first.i, first.j)
    assert said == f"its numbers are not to be trusted ({KINDS[heed.kind]})"
    assert elsewhere_notes(barred, second) == [f"of the 3 other settings: {KINDS[heed.kind]} at 1, never picked"]


def test_what_is_only_to_be_heeded_is_picked_and_told():
    good = invented.window((2, 2, 2))
    first = choose(good)
    warned = window({(first.i, first.j, k): (LITTLE,) for k in (0, 1)})
    pick = choose(warned)
    assert isinstance(pick, Pick)
    assert (pick.i, pick.j) == (first.i, first.j)
    assert pick.warnings == (LITTLE.text,)
    assert elsewhere_notes(warned, pick) == []
    assert choice_document(warned, pick)["warnings"] == [LITTLE.text]


def test_where_all_are_barred_the_nearest_is_told_with_what_to_look_at():
    everywhere = window({(i, j, 0): (LOST,) for i in (0, 1) for j in (0, 1)})
    nearest = choose(everywhere)
    assert isinstance(nearest, Nearest)
    assert "its numbers are not to be trusted (gauge wheel pressed over its radius)" in nearest_sentence(nearest)
    assert warning_notes(nearest) == [f"{PLACE}: {LOST.text}"]
    assert len(helps(everywhere, nearest)) == 1
    assert "Look at the ground where the warning says" in helps(everywhere, nearest)[0]


def test_the_worst_of_the_seeds_is_told_with_its_seed():
    high, higher = (Heed("pressure", f"reached {p} bar", p * 1e5) for p in (205, 240))
    cell = window({(0, 0, 0): (LITTLE, high), (0, 0, 1): (LITTLE, higher), (0, 1, 0): (high,)})
    assert [heed.text for heed in cell.heeds_at(0, 0)] == [LITTLE.text, "ground 2: reached 240 bar"]
    assert [heed.text for heed in cell.heeds_at(0, 1)] == ["ground 1: reached 205 bar"]
    assert cell.heeds_at(1, 1) == ()
    assert [heed.text for heed in cell.only_seed(0).heeds_at(0, 0)] == [LITTLE.text, high.text]


def test_the_screen_counts_other_settings_and_repeats_nothing():
    made = window({(i, j, 0): (LITTLE,) for i in (0, 1) for j in (0, 1)})
    pick = choose(made)
    notes = caution_notes(made, pick, ())
    assert notes[-1] == "of the 3 other settings: gas below a quarter of the accumulator at 3"
    assert not any(LITTLE.text in note for note in notes)
    assert len(notes) == len(set(notes))


def test_the_document_holds_them_by_cell():
    made = window({(1, 0, 1): (LITTLE, LOST)})
    assert window_document(made)["warnings"] == {
        "1.0.1": [
            {"kind": "little_gas", "says": LITTLE.text, "barred": False},
            {"kind": "gauge_lost", "says": LOST.text, "barred": True},
        ]
    }


def test_crossings_put_together_bring_theirs(found):
    scenario, laid, cells, crossings = found["small accumulator"]
    pressures = np.unique([cell.settings.oil_pressure for cell in cells])
    speeds = np.unique([cell.settings.speed for cell in cells])

    def place(cell):
        p, v = cell.settings.oil_pressure, cell.settings.speed
        return int(np.searchsorted(pressures, p)), int(np.searchsorted(speeds, v)), cell.ground

    at = {place(cell): crossing for cell, crossing in zip(cells, crossings, strict=True)}
    made = assemble(scenario, pressures, speeds, laid, at)
    assert all(made.heeds.get(where, ()) == crossing.heeds for where, crossing in at.items())
    assert any(heed.kind == "little_gas" for heed in choose(made).heeds)


def test_what_is_only_told_can_be_left_out(found):
    """Of a thousand small windows that say how sure a pick is, nothing else is left out."""
    scenario, laid, _, _ = found["small accumulator"]
    scenario = replace(scenario, settings=replace(scenario.settings, precharge=45e5))
    pressures, speeds = np.array([40e5, 60e5]), np.array([8.0 / 3.6])
    whole = assemble(scenario, pressures, speeds, laid, {})
    bare = assemble(scenario, pressures, speeds, laid, {}, told=False)
    assert any("precharge" in note for note in whole.notes)
    assert len(whole.suiting) == 2
    same = [name for name in vars(whole) if repr(getattr(whole, name)) == repr(getattr(bare, name))]
    assert set(vars(whole)) - set(same) == {"notes", "suiting"}
    assert (bare.notes, bare.suiting) == ((), ())


def test_a_run_reads_its_squash_and_its_place_from_the_series():
    change, press = np.full(600, -1.0), np.zeros(600)
    change[200], press[300] = 0.050, 0.030
    run = invented.made_run(tyre_and_sinkage=change, press_squash=press)
    met = met_by(run.series, run.setting, run.energy, run.track.x_from, invented.SPEED, run.step)
    assert met.gauge_squash == pytest.approx(0.050 + run.setting.squash)
    assert met.press_squash == 0.030
    place = np.array([met.gauge_at, met.press_at]) - run.track.x_from
    assert place == pytest.approx([200 * invented.TRAVEL, 300 * invented.TRAVEL])
