"""Which rows go together, and that none of them is any different for it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from analysis.crossing.measures import MEASURES
from analysis.rows import crossings
from analysis.rows.cells import Alike, Laid, lay
from analysis.rows.crossings import Cell, Wanted, cross_all, cross_all_together, cross_rows, cross_together
from analysis.rows.fields import Field
from analysis.rows.together import Asked, Member, Row, by_field, lain_once, marches
from scenarios.load import load
from sim.march.rows import Case
from sim.unit import Accumulator

TOLD = (
    "on_depth_share",
    "error_mean",
    "wheel_off_share",
    "pin_peak",
    "gauge_load_mean",
    "press_load_mean",
    "breakouts",
)
SHORT = {"ground.length_m": 12, "search.seeds": 1}


@pytest.fixture(scope="module")
def scenario():
    return load("stony", changes=SHORT)


@pytest.fixture(scope="module")
def laid(scenario):
    return lay(scenario, (1, 2, 3))


def changed(scenario, **of_unit):
    return replace(scenario, unit=replace(scenario.unit, **of_unit))


def at(scenario, kmh, bar=40.0, setting="redone"):
    return replace(scenario.settings, speed=kmh / 3.6, oil_pressure=bar * 1e5, setting=setting)


def planned(asked, *, of_any=True):
    fields = []
    for number, (scenario, laid, rows) in enumerate(asked):
        for cells in by_field(rows).values():
            field = Field(scenario, laid, cells[0][0].case.settings)
            fields.append([[Member(number, field, row) for row in cell] for cell in cells])
    return marches(fields, of_any=of_any)


def rows_at(scenario, *speeds, grounds=3):
    cases = [Case(k, at(scenario, kmh)) for kmh in speeds for k in range(grounds)]
    return [Row(i, case) for i, case in enumerate(cases)]


def shape(march):
    return sorted((member.asked, round(3.6 * member.field.speed, 2)) for member in march)


def test_a_speed_fills_its_own_marches_first_and_what_is_left_over_goes_together(scenario, laid):
    of_each = [[Row(i, Case(i % 3, at(scenario, kmh, 30.0 + i))) for i in range(11)] for kmh in (8.0, 10.0)]
    rows = [row._replace(cell=100 * n + row.cell) for n, of_speed in enumerate(of_each) for row in of_speed]
    made = planned([Asked(scenario, laid, rows)], of_any=False)
    assert [shape(march) for march in made] == [[(0, 8.0)] * 8, [(0, 10.0)] * 8, [(0, 8.0)] * 3 + [(0, 10.0)] * 3]


def test_slow_speeds_have_steps_of_their_own(scenario, laid):
    """Below 7.5 km/h the step holds the time: another travel in each, so that only like speeds go together."""
    asked = [
        Asked(scenario, laid, rows_at(scenario, 6.0, 7.0, 9.0)),
        Asked(scenario, laid, rows_at(scenario, 6.0, 12.0)),
    ]
    slow, seven, fast = planned(asked)
    assert shape(slow) == [(0, 6.0)] * 3 + [(1, 6.0)] * 3
    assert shape(seven) == [(0, 7.0)] * 3
    assert shape(fast) == [(0, 9.0)] * 3 + [(1, 12.0)] * 3


def test_other_units_go_along_only_where_any_may(scenario, laid):
    other = changed(scenario, accumulator=Accumulator(volume=0.5e-3))
    asked = [Asked(one, laid, rows_at(one, 8.0)) for one in (scenario, other, scenario)]
    assert [shape(march) for march in planned(asked)] == [[(n, 8.0) for n in (0, 0, 0, 1, 1, 1, 2, 2)], [(2, 8.0)]]
    assert [shape(march) for march in planned(asked, of_any=False)] == [[(n, 8.0)] * 3 for n in range(3)]


def test_cells_are_not_divided_and_rows_on_one_ground_lie_side_by_side(scenario, laid):
    both = [Case(k, at(scenario, 8.0, 45.0, how)) for k in range(3) for how in ("redone", "unchanged")]
    rows = [Row(i // 2, case) for i, case in enumerate(both)]
    made = planned([Asked(scenario, laid, rows), Asked(scenario, laid, rows)])
    assert [len(march) for march in made] == [8, 4]
    for march in made:
        assert all(one.row.cell == two.row.cell for one, two in zip(march[::2], march[1::2], strict=True))
    assert [member.ground.seed for march in made for member in march] == [1] * 4 + [2] * 4 + [3] * 4
    assert lain_once(made) == {id(ground) for ground in laid}
    twice = planned([Asked(scenario, laid, [Row(i, Case(0, at(scenario, 8.0, 30.0 + i))) for i in range(9)])])
    assert lain_once(twice) == set()


def values(found):
    return {name: [float(one.measure(MEASURES[key])) for key in TOLD] for name, one in found.items()}


def test_company_changes_no_bit(scenario, laid):
    """Other units, soils, speeds and grounds in one march; alone; and to rounding as rows of one unit and soil."""
    soft = replace(scenario, soil=replace(scenario.soil, strength=0.8e6))
    heavy = changed(
        scenario, carrier=replace(scenario.unit.carrier, mass=120.0), accumulator=Accumulator(volume=0.6e-3)
    )
    longer = changed(scenario, main_links=replace(scenario.unit.main_links, length=0.58))
    own = lay(soft, (5, 6, 7))
    asked = [
        Asked(scenario, laid, rows_at(scenario, 8.0)),
        Asked(soft, own, rows_at(soft, 10.0)),
        Asked(heavy, laid, rows_at(heavy, 8.0, grounds=1)),
        Asked(longer, laid, rows_at(longer, 8.0, grounds=1)),  # O begins elsewhere, so that its path is another
    ]
    assert [len(march) for march in planned(asked)] == [8]
    together = [values(found) for found in cross_together(asked, 1)]
    assert together == [values(found) for found in cross_together(asked[::-1], 2)][::-1]
    assert "tables" not in vars(own[0])  # made for that march alone
    for one, made in zip(asked, together, strict=True):
        assert values(cross_together([one], 1)[0]) == made
        for name, plain in values(cross_rows(*one, 1)).items():
            assert made[name] == pytest.approx(plain, rel=1e-9, abs=1e-12), name


def test_cells_of_several_scenarios_are_as_those_of_each(scenario, laid):
    wanted = [
        Wanted(one, laid[:2], [Cell(at(one, 9.0, bar), k) for bar in (35.0, 45.0) for k in range(2)])
        for one in (scenario, changed(scenario, carrier=replace(scenario.unit.carrier, mass=120.0)))
    ]
    for (one, grounds, cells), made in zip(wanted, cross_all_together(wanted, True), strict=True):
        for here, alone in zip(made, cross_all(one, grounds, cells, True), strict=True):
            assert here.heeds == alone.heeds
            for name, value in alone.values.items():
                assert here.values[name] == pytest.approx(value, rel=1e-9, abs=1e-12, nan_ok=True), name


def test_what_cannot_be_crossed_says_so_and_the_rest_is(scenario, laid, monkeypatch):
    wrong = changed(scenario, depth_linkage=replace(scenario.unit.depth_linkage, turnbuckle=0.4))
    stiff = changed(scenario, gauge_wheel=replace(scenario.unit.gauge_wheel, tyre_damping=50.0, tyre_stiffness=5e6))
    told = []
    asked = [Asked(one, laid, rows_at(one, 8.0)) for one in (wrong, scenario, stiff)]
    unset, fine, too_stiff = cross_together(asked, 2, lambda done, total: told.append((done, total)))
    assert all("linkage" in reason for reason in unset.values())
    assert all("too stiff to be followed in time" in reason for reason in too_stiff.values())
    assert values(fine) == values(cross_together(asked[1:2])[0])
    assert sorted(told)[-1] == (9, 9)

    def stopped(rows, cases, *others, **how):
        group = prepared(rows, cases, *others, **how)
        for j, (subject, _) in enumerate(zip(rows, cases, strict=True)):
            if subject.unit is heavy.unit:
                group.limits[:, j] = 1.0, 1.1  # as a row that is pressed far into a stop
        return group

    heavy = changed(scenario, carrier=replace(scenario.unit.carrier, mass=120.0))
    prepared = crossings.prepare_rows
    monkeypatch.setattr(crossings, "prepare_rows", stopped)
    found = cross_together([Asked(heavy, laid, rows_at(heavy, 8.0)), asked[1]])
    assert all("pressed far into a travel stop" in reason for reason in found[0].values())
    assert values(found[1]) == values(fine)


def test_grounds_are_laid_once_for_scenarios_that_lie_alike(scenario):
    alike = Alike((1, 2))
    first = alike.of(scenario)
    assert alike.of(changed(scenario, carrier=replace(scenario.unit.carrier, mass=120.0))) is first
    other = replace(scenario, soil=replace(scenario.soil, strength=0.8e6))
    assert alike.of(other)[0].track.strength.mean() < first[0].track.strength.mean()
    assert alike.of(scenario) is first
    assert [isinstance(one, Laid) and one.path == {} for one in first] == [True, True]
    assert alike.of(other)[0].path is None
