"""Crossings that are kept: the same bits without a march, found by all that they depend on and by nothing else."""

from __future__ import annotations

import sqlite3
import threading
from dataclasses import fields, replace

import invented
import numpy as np
import pytest

from analysis.crossing.measures import MEASURES, Join, Measure
from analysis.rows import known
from analysis.rows.cells import lay
from analysis.rows.crossings import Cell
from analysis.window.cross_grid import search
from analysis.window.doubt.chance import down_from
from analysis.window.pick import Pick, choose
from analysis.window.robustness import robustness
from scenarios.ground.steps import Edge
from scenarios.spec import Limits
from sim.unit import Accumulator, Clearance


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A folder of its own to keep crossings in, empty."""
    monkeypatch.delenv(known.ANEW)
    monkeypatch.setattr(known, "home", lambda: tmp_path)
    known._book.cache_clear()
    yield tmp_path
    known._book.cache_clear()


def again():
    """As a new process: nothing is held open."""
    known._book.cache_clear()


@pytest.fixture
def crossed(monkeypatch):
    """How many cells each call really crosses."""
    counts, real = [], known.cross_all

    def counted(scenario, laid, cells, *more):
        counts.append(len(cells))
        return real(scenario, laid, cells, *more)

    monkeypatch.setattr(known, "cross_all", counted)
    return counts


def grids(window):
    return {name: grid.tobytes() for name, grid in window.grids.items()}


ROUGH = invented.short_scenario("rough", 20.0)
ASKED = ((30, 50), (6.0, 9.0), 2)


def test_a_window_asked_again_is_the_same_to_the_bit_and_crosses_nothing(folder, crossed):
    first = search(ROUGH, *ASKED)
    again()
    told = []
    second = search(ROUGH, *ASKED, progress=lambda done, total: told.append((done, total)))
    assert crossed == [8]
    assert grids(first) == grids(second)
    assert (first.heeds, first.problems, first.notes) == (second.heeds, second.problems, second.notes)
    assert told == [(8, 8)]


def test_how_sure_a_pick_is_is_found_again_too(folder, crossed):
    wide = Limits(depth_tolerance=0.02, wheel_off_share_max=0.2, gauge_load_min=0.0, gauge_load_max=3000.0)
    scenario = replace(ROUGH, search=replace(ROUGH.search, draws=8), limits=wide)

    def answer():
        window = search(scenario, *ASKED)
        pick = choose(window)
        assert isinstance(pick, Pick)
        return repr(robustness(scenario, window, pick, 2)), down_from(scenario, window, pick, 2)

    (told, chance), count = answer(), sum(crossed)
    again()
    told_again, chance_again = answer()
    assert sum(crossed) == count > 100
    assert told == told_again
    assert np.array_equal(chance.met, chance_again.met)


def test_what_is_warned_of_is_kept_as_well(folder, crossed):
    small = replace(ROUGH, unit=replace(ROUGH.unit, accumulator=Accumulator(volume=0.05e-3)))
    found = []
    for _ in range(2):
        found.append(search(small.with_settings(precharge=8e5), (40, 60, 90), (6.0, 9.0), 1).heeds)
        again()
    assert found[0] == found[1] != {}
    assert crossed == [6]


def test_why_a_crossing_could_not_be_made_is_kept_as_well(folder, crossed):
    wall = Edge(at=ROUGH.x_from + 6.0, step=0.6, run=0.02)
    walled = replace(ROUGH, ground=replace(ROUGH.ground, features=(wall,)))
    found = []
    for _ in range(2):
        found.append(search(walled, (40, 60), (5.0, 8.0), 1).problems)
        again()
    assert found[0] == found[1] != {}
    assert crossed == [4]


def test_only_what_is_new_is_crossed(folder, crossed):
    search(ROUGH, (30, 50), (6.0,), 1)
    told = []
    wider = search(ROUGH, (30, 40, 50), (6.0,), 1, progress=lambda done, total: told.append((done, total)))
    assert crossed == [2, 1]
    assert (told[0], told[-1]) == ((2, 3), (3, 3))
    alone = search(ROUGH, (30, 40, 50), (6.0,), 1, known=False)
    assert grids(wider) == grids(alone)


def test_limits_that_only_judge_are_not_asked_for(folder, crossed):
    search(ROUGH, *ASKED)
    search(replace(ROUGH, limits=replace(ROUGH.limits, on_depth_share_min=0.5)), *ASKED)
    assert crossed == [8]


def changed(scenario):
    """The same with one thing changed that numbers can depend on, by what it is."""
    yield "other ground", replace(scenario, ground=replace(scenario.ground, seed=7))
    yield "tolerance", replace(scenario, limits=replace(scenario.limits, depth_tolerance=0.004))
    yield "warning", replace(scenario, limits=replace(scenario.limits, gas_pressure_warning=50e5))
    yield "rule", replace(scenario, limits=replace(scenario.limits, gas_squeeze_max=2.0))
    yield "longer", replace(scenario, x_to=scenario.x_to + 1.0)
    yield (
        "contact",
        replace(scenario, stones=replace(scenario.stones, contact=replace(scenario.stones.contact, stiffness=3e6))),
    )
    yield "worn", replace(scenario, unit=replace(scenario.unit, clearance=Clearance(0.001, 0.001, 0.001)))
    yield "soil", scenario.with_soil(strength=1.01 * scenario.soil.strength)
    for field in fields(scenario.settings):
        value = getattr(scenario.settings, field.name)
        if isinstance(value, float) and field.name not in ("oil_pressure", "speed"):
            settings = replace(scenario.settings, **{field.name: np.nextafter(value, np.inf)})
            yield f"settings {field.name}", replace(scenario, settings=settings)
    for field in fields(scenario.soil):
        value = getattr(scenario.soil, field.name)
        if isinstance(value, float):
            yield (
                f"soil {field.name}",
                replace(scenario, soil=replace(scenario.soil, **{field.name: 1.001 * value + 1e-9})),
            )
    for part in fields(scenario.unit):
        of_part = getattr(scenario.unit, part.name)
        if hasattr(of_part, "__dataclass_fields__"):
            field = next(f for f in fields(of_part) if isinstance(getattr(of_part, f.name), float))
            other = replace(of_part, **{field.name: np.nextafter(getattr(of_part, field.name), np.inf)})
            yield f"unit {part.name}", replace(scenario, unit=replace(scenario.unit, **{part.name: other}))


def keys(scenario):
    cells = [Cell(replace(scenario.settings, oil_pressure=40e5, speed=2.0), 0)]
    return known.keys_of(scenario, lay(scenario, (scenario.seed,)), cells, True)


def test_whatever_numbers_can_depend_on_is_in_the_key():
    first = keys(ROUGH)
    assert keys(ROUGH) == first
    found = dict(changed(ROUGH))
    assert len(found) > 25
    alike = [what for what, scenario in found.items() if keys(scenario) == first]
    assert alike == []


def test_pressures_speeds_grounds_and_the_setting_left_alone_have_keys_of_their_own():
    laid = lay(ROUGH, (1, 2))
    cells = [
        Cell(replace(ROUGH.settings, oil_pressure=p, speed=v), k)
        for p in (4e6, 5e6)
        for v in (2.0, 3.0)
        for k in (0, 1)
    ]
    both = known.keys_of(ROUGH, laid, cells, True) + known.keys_of(ROUGH, laid, cells, False)
    assert len(set(both)) == 16


def test_a_damaged_entry_is_crossed_again(folder, crossed):
    first = search(ROUGH, *ASKED)
    again()
    with sqlite3.connect(folder / known.FILE) as there:
        number, content = there.execute("select number, content from crossings limit 1").fetchone()
        there.execute("update crossings set content = ? where number = ?", (content.replace(b"1", b"2", 1), number))
    assert grids(search(ROUGH, *ASKED)) == grids(first)
    assert crossed == [8, 1]


def test_a_damaged_file_is_told_of_and_replaced(folder, crossed, caplog):
    (folder / known.FILE).write_bytes(b"not a database, " * 400)
    first = search(ROUGH, *ASKED)
    assert "holds damaged crossings" in caplog.text
    again()
    search(ROUGH, *ASKED)
    again()
    assert grids(search(ROUGH, *ASKED)) == grids(first)
    assert crossed == [8, 8]


def test_where_nothing_can_be_kept_all_is_crossed(tmp_path, monkeypatch, folder, crossed):
    monkeypatch.setattr(known, "home", lambda: tmp_path / "missing")
    search(ROUGH, *ASKED)
    (tmp_path / "taken").mkdir()
    (tmp_path / "taken" / known.FILE).mkdir()  # a folder where the file should be
    monkeypatch.setattr(known, "home", lambda: tmp_path / "taken")
    search(ROUGH, *ASKED)
    search(ROUGH, *ASKED)
    assert crossed == [8, 8, 8]


def test_nothing_is_read_or_kept_where_others_could_write(folder, crossed):
    search(ROUGH, (30,), (6.0,), 1)
    again()
    folder.chmod(0o777)
    search(ROUGH, (30,), (6.0,), 1)
    search(ROUGH, (30,), (6.0,), 1)
    assert crossed == [1, 1, 1]


def test_a_file_that_another_process_holds_costs_no_answer(folder, crossed, monkeypatch):
    search(ROUGH, (30,), (6.0,), 1)
    again()
    monkeypatch.setattr(known, "PATIENCE", 0.05)
    with sqlite3.connect(folder / known.FILE, isolation_level=None) as other:
        other.execute("begin exclusive")
        search(ROUGH, (30,), (6.0,), 1)
        other.execute("rollback")
    again()
    search(ROUGH, (30,), (6.0,), 1)
    assert crossed == [1, 1]


def test_the_oldest_make_room(folder, crossed, monkeypatch):
    monkeypatch.setattr(known, "MOST", 4)
    search(ROUGH, (30, 40, 50, 60), (6.0,), 1)
    search(ROUGH, (70, 80), (6.0,), 1)
    with sqlite3.connect(folder / known.FILE) as there:
        assert there.execute("select count(*) from crossings").fetchone() == (4,)
    search(ROUGH, (50, 60, 70, 80), (6.0,), 1)
    assert crossed == [4, 2]


def test_several_threads_and_two_books_write_one_file(folder):
    made = search(ROUGH, (30,), (6.0,), 1, known=False)
    crossing = known.Crossing({m.name: float(made.grids[m.name][0, 0, 0]) for m in known.in_window()})
    books = [known.Book(folder / known.FILE) for _ in range(2)]

    def write(n):
        for k in range(20):
            books[n % 2].keep({bytes([n, k]): crossing})

    threads = [threading.Thread(target=write, args=(n,)) for n in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    names = [bytes([n, k]) for n in range(4) for k in range(20)]
    found = books[0].find(names)
    assert len(found) == 80
    assert all(list(one.values.values()) == list(crossing.values.values()) for one in found.values())


def test_a_measure_of_a_users_script_is_never_taken_from_before(folder, crossed, monkeypatch):
    own = Measure(
        name="mine",
        unit="N",
        doc="",
        join=Join.HIGHEST,
        rows=lambda r: r.values["pin_peak"][..., 0, :],
        kept=("window",),
    )
    monkeypatch.setitem(MEASURES, "mine", own)
    search(ROUGH, (30,), (6.0,), 1)
    search(ROUGH, (30,), (6.0,), 1)
    assert crossed == [1, 1]


def test_asked_for_anew_all_is_crossed_and_nothing_is_kept(folder, crossed, monkeypatch):
    monkeypatch.setenv(known.ANEW, "1")
    search(ROUGH, (30,), (6.0,), 1)
    search(ROUGH, (30,), (6.0,), 1)
    assert crossed == [1, 1]
    assert not (folder / known.FILE).exists()


def test_it_lies_beside_the_machine_code_and_only_its_user_can_write_there():
    place = known.home()
    assert place == known.cache_folder().parent
    assert place.stat().st_mode & 0o022 == 0


def test_grounds_are_told_apart_by_every_sample():
    """Those of one value throughout too, and a zero that is negative from one that is not."""
    laid = lay(invented.short_scenario("hump", 20.0), (1,))[0]
    n = laid.track.ground.size
    last = np.zeros(n)
    last[-1] = 1.0
    for name in ("ground", "stone_top", "strength"):
        values = [
            np.zeros(n),
            -np.zeros(n),
            np.ones(n),
            last,
            last[::-1],
            np.zeros(n, dtype=np.float32),
            np.zeros(n - 1),
        ]
        found = [replace(laid, track=replace(laid.track, **{name: made})).digest for made in values]
        assert len(set(found)) == len(values)
        assert replace(laid, track=replace(laid.track, **{name: np.zeros(n)})).digest == found[0]
    stones = [np.full(n, -1, dtype=np.int32), np.zeros(n, dtype=np.int32), np.zeros(n, dtype=np.int64)]
    assert len({replace(laid, track=replace(laid.track, stone_id=made)).digest for made in stones}) == 3
