"""Summary, sentences, exports and figures of a paddock, from invented results whose answers are known."""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from drawn import amiss

from analysis.crossing.measures import MEASURES
from analysis.paddock.export import section_rows, write_csv, write_geojson
from analysis.paddock.figures.figure_map import SHADES, map_figure
from analysis.paddock.figures.figure_rows import rows_figure
from analysis.paddock.figures.figure_settings import settings_figure
from analysis.paddock.summary import row_means, setting_dict, summarise, to_dict
from analysis.paddock.table import PaddockTable
from analysis.paddock.words import paddock_text
from analysis.present.figure_style import save
from analysis.window.limits import meets
from analysis.window.pick import Nearest, Pick
from scenarios.format.errors import ScenarioError
from scenarios.paddock.spec import PaddockMachine, Zone
from scenarios.spec import Limits
from sim.unit import GRAVITY

PASSES, ROWS, SECTIONS = 3, 6, 10
SHAPE = (4, PASSES, ROWS, SECTIONS)


def invented(seed: int = 1, **changes) -> PaddockTable:
    """45 and 60 bar at 8 and 10 km/h. Zone "clay" is the second half of the sections of pass 1.

    On depth: 0.86 at 45 bar, 0.96 at 60 bar, 0.04 less at 10 km/h; in the clay 0.2 less at 45 bar. Row 2 (from 0)
    runs 3 mm shallow.
    """
    rng = np.random.default_rng(seed)
    share = np.empty(SHAPE)
    for k, base in enumerate((0.86, 0.96, 0.82, 0.92)):
        share[k] = base
    share[0::2, 1, :, 5:] -= 0.2
    error = rng.normal(0.0, 1.5e-3, SHAPE) - 1e-3
    error[:, :, 2] -= 3e-3
    zone = np.zeros(SHAPE[1:], dtype=np.int8)
    zone[1, :, 5:] = 1
    pins = np.full(SHAPE, 6000.0)
    pins[1, 2, 3, 4] = 15000.0
    worst = np.zeros(SHAPE, dtype=np.int8)
    worst[1, 2, 3, 4] = 2
    sections = {
        "on_depth_share": share, "error_mean": error, "error_sd": np.full(SHAPE, 4e-3),
        "wheel_off_share": np.full(SHAPE, 0.01), "gauge_load_mean": np.full(SHAPE, 800.0), "pin_peak": pins,
        "pin_worst": worst, "rock_peak": np.zeros(SHAPE), "oil_pressure_max": np.full(SHAPE, 70e5),
    }  # fmt: skip
    table = PaddockTable(
        path=Path("r.h5"), name="invented", title="Invented", seed=5, pressures=np.array([45e5, 60e5]),
        speeds=np.array([8.0, 10.0]) / 3.6, downforce=np.array([1500.0, 2000.0]),
        by_setting={"reached": np.ones(4), "setting_change": np.zeros(4),
                    "precharge_share": np.full(4, 0.05), "gas_squeeze": np.full(4, 0.2)},
        machine=PaddockMachine(rows=ROWS, front_wheels=(0.0,), rear_wheels=(-0.5, 0.5)),
        zones=(Zone(name="clay", start=(50.0, 1.5), end=(100.0, 3.0)),), tracks=(0.125,), limits=Limits(),
        section_x=np.tile(10.0 * np.arange(SECTIONS) + 5.0, (PASSES, 1)),
        section_length=np.full((PASSES, SECTIONS), 10.0),
        row_y=1.5 * np.arange(PASSES)[:, None] + 0.125 + 0.25 * np.arange(ROWS)[::-1][None, :], zone=zone,
        latitude=None, longitude=None, sections={n: v.astype(np.float32) for n, v in sections.items()}, totals={},
        error_count=np.zeros((4, 502), dtype=np.int64),
        events={"breakouts": {n: np.array(v) for n, v in (("setting", [1, 1, 0]), ("pass", [1, 0, 1]),
                                                          ("row", [0, 0, 0]), ("start", [75.0, 5.0, 5.0]))}},
        problems=(), heeds=(), warnings=("a note of the input",), versions={"numpy": "1"},
        inputs={"settings": {"set_depth": 0.04}, "unit": {"accumulator": {"shared_by": 1}, "toolbar": {"mass": 1e6}}},
    )  # fmt: skip
    return replace(table, **changes)


def said_by(table: PaddockTable, limits: Limits | None = None, *, details: bool = True) -> str:
    """The text of a summary in one line, with all details unless they are not wanted."""
    return " ".join(paddock_text(summarise(table, limits), details=details).split())


def test_areas_and_means():
    table = invented()
    assert table.area == pytest.approx(PASSES * SECTIONS * 10.0 * 1.5)
    assert table.mean_of("on_depth_share", 1) == pytest.approx(0.96)
    assert table.mean_of("on_depth_share", 0) == pytest.approx(0.86 - 0.2 / 6.0)
    assert table.area_on_depth(0, 0.8) == pytest.approx(table.area * 5.0 / 6.0)
    assert table.area_on_depth(1, 0.9) == pytest.approx(table.area)
    assert table.worst_pin(1) == ("main_lower_front", pytest.approx(15000.0))
    assert [table.events_in("breakouts", k) for k in range(4)] == [1, 2, 0, 0]
    assert table.events_in("breakouts", 1, table.zone == 1) == 1


def test_scatter_is_that_within_and_between_sections():
    table = invented()
    mean = table.sections["error_mean"][0].astype(float)
    assert table.measured(MEASURES["error_sd"], 0) == pytest.approx(np.sqrt(4e-3**2 + mean.var()), rel=1e-5)


def test_a_section_that_counts_half_weighs_half():
    length = np.full((PASSES, SECTIONS), 10.0)
    length[1] = np.nan
    length[0, -1] = 5.0
    table = invented(section_length=length)
    share = table.sections["on_depth_share"].copy()
    share[0, 0, :, -1] = 0.0
    table = replace(table, sections={**table.sections, "on_depth_share": share})
    assert table.area == pytest.approx((19 * 10.0 + 5.0) * 1.5)
    assert table.mean_of("on_depth_share", 0) == pytest.approx(0.86 * 190.0 / 195.0)


def test_the_pick_for_the_whole_paddock():
    summary = summarise(invented())
    assert isinstance(summary.choice, Pick)
    assert (summary.choice.oil_pressure, summary.choice.speed * 3.6) == (60e5, pytest.approx(10.0))
    assert summary.setting == 3
    text = said_by(summary.table)
    assert "60 bar (204 kgf a row) at 10 km/h, set depth 40 mm" in text
    assert "10 km/h is the fastest tried; faster was not looked at." in text
    found = to_dict(summary)
    assert (found["pick"]["set_depth_mm"], found["nearest"]) == (40.0, None)
    assert "highest_speed" in found["pick"]["at_edge"]
    assert "It meets every limit; tightest is on-depth share 92 % against at least 90 %" in text
    assert "(seed" not in text
    assert "(ground" not in text


def test_a_pressure_that_lifts_the_toolbar_is_no_pick():
    """1500 N a row at 45 bar, 2000 N at 60 bar."""
    light = {"settings": {"set_depth": 0.04}, "unit": {"accumulator": {"shared_by": 1}, "toolbar": {"mass": 1e6}}}
    light["unit"]["toolbar"]["mass"] = 1900.0 * ROWS / GRAVITY
    heavy = summarise(invented()).choice
    assert isinstance(heavy, Pick)
    assert heavy.oil_pressure == 60e5
    found = summarise(invented(inputs=light)).choice
    assert isinstance(found, Nearest)
    assert found.oil_pressure == 45e5


def test_no_setting_that_meets_the_limits():
    summary = summarise(invented(), replace(Limits(), on_depth_share_min=0.97))
    assert isinstance(summary.choice, Nearest)
    for details in (True, False):
        text = said_by(summary.table, summary.limits, details=details)
        assert "No setting to use: none of those tried meets every limit, so none is to be set." in text
        assert "60 bar (204 kgf a row) at 8 km/h, set depth 40 mm fails least (not to be set): " in text
        assert "Set 60" not in text
        assert "depth setting" not in text.split("Zones:")[0]  # no instruction under no pick
    assert to_dict(summary)["pick"] is None
    assert to_dict(summary)["nearest"]["set_depth_mm"] == 40.0


def test_rows_that_stand_out():
    rows = row_means(invented(), 1)
    out = [r for r in rows if r.stands_out]
    assert [r.row for r in out] == [2]
    assert out[0].apart == pytest.approx(-3e-3 * 5.0 / 6.0, abs=0.6e-3)
    assert all(r.low < r.mean < r.high for r in rows)
    assert "row 3" in said_by(invented())
    assert "mm shallower" in said_by(invented())


def test_intervals_hold_what_they_say():
    """The 95 % interval of a row's mean covers the true mean in 95 of 100 invented paddocks, within chance."""
    hits = 0
    for seed in range(200):
        row = row_means(invented(seed), 1)[0]
        hits += row.low <= -1e-3 <= row.high
    assert 180 <= hits <= 200


def test_even_rows_are_called_even():
    table = invented()
    even = {**table.sections, "error_mean": np.zeros(SHAPE, dtype=np.float32)}
    assert "Rows: none runs deeper or shallower" in said_by(replace(table, sections=even))


def test_zones_and_what_setting_by_zone_gains():
    table = invented()
    share = table.sections["on_depth_share"].copy()
    share[1:, 1, :, 5:] = 0.5  # in the clay 60 bar does worse
    share[0, 1, :, 5:] = 0.91
    summary = summarise(replace(table, sections={**table.sections, "on_depth_share": share}))
    rest, clay = summary.zones
    assert (rest.name, clay.name) == ("rest", "clay")
    assert clay.area == pytest.approx(table.area / 6.0)
    assert clay.choice.oil_pressure == 45e5
    assert clay.choice.speed * 3.6 == pytest.approx(8.0)
    assert clay.on_depth_share == pytest.approx(0.91)
    wanted = rest.on_depth_share * 5.0 / 6.0 + 0.91 / 6.0
    assert summary.by_zone_share == pytest.approx(wanted)
    assert summary.one_share == pytest.approx(summary.table.mean_of("on_depth_share", summary.setting))
    text = paddock_text(summary)
    said = " ".join(text.split())
    assert "Set each zone by itself: rest 60 bar at 10 km/h; clay 45 bar at 8 km/h. So every limit is met" in said
    assert f"{summary.by_zone_share * 100:.1f} % of the way is on depth and every limit is met" in said
    assert [z.plan for z in summary.zones] == ["own", "own"]


def test_a_zone_that_gains_by_a_setting_of_its_own():
    summary = summarise(zoned((0.92, 0.96), (0.98, 0.92)), replace(Limits(), on_depth_share_min=0.91))
    assert [z.plan for z in summary.zones] == ["one", "own"]
    said = said_by(summary.table, summary.limits)
    assert "Zones: by itself: clay 45 bar at 10 km/h" in said
    assert f"({(summary.by_zone_share - summary.one_share) * 100:+.1f} points)" in said


def test_sentences_follow_the_numbers():
    one, two = invented(), invented()
    two.sections["on_depth_share"][:, 0, :, 0] = 0.11
    a, b = said_by(one), said_by(two)
    assert a != b
    assert "pass 1 at x 5 m, y 1 m (11 % on depth)" in b


def test_notes_say_what_is_approximate():
    text = said_by(invented())
    assert "rows do not react on it" in text
    assert "A note of the input." in text
    assert "shared by" not in text
    shared = invented(
        inputs={"settings": {"set_depth": 0.04}, "unit": {"accumulator": {"shared_by": 6}, "toolbar": {"mass": 1e6}}}
    )
    assert "shared by 6 units" in said_by(shared)


def test_what_could_not_be_crossed_is_told():
    table = invented(problems=((1, 0, 3, "the arm was pressed far into a stop"),))
    table.sections["on_depth_share"][1, 0, 3] = np.nan
    summary = summarise(table)
    assert summary.setting != 1
    text = said_by(table)
    assert "Pass 1, row 4 at 60 bar, 8 km/h could not be crossed: the arm was pressed far into a stop." in text
    alone = "rowbench paddock invented.toml --pass 1 --row 4 --pressure 60 --speed 8 --out pass1_row4.toml"
    assert f"That row alone: {alone}" in text
    assert "1 row failed" in text
    json.dumps(to_dict(summary), allow_nan=False)


def test_json_has_units_and_no_nan():
    found = json.loads(json.dumps(to_dict(summarise(invented())), allow_nan=False))
    assert found["area_ha"] == pytest.approx(0.045)
    assert [s["oil_pressure_bar"] for s in found["settings"]] == [45.0, 60.0, 45.0, 60.0]
    assert found["settings"][1]["on_depth_share"] == pytest.approx(0.96)
    assert found["pick"]["speed_kmh"] == pytest.approx(10.0)
    assert found["row_means"][2]["stands_out"]
    assert found["zones"][1]["name"] == "clay"


def test_csv_holds_every_section(tmp_path):
    table = invented()
    write_csv(tmp_path / "t.csv", table, range(4))
    with (tmp_path / "t.csv").open() as stream:
        rows = list(csv.DictReader(stream))
    assert len(rows) == np.prod(SHAPE)
    last = rows[-1]
    assert (last["oil_pressure_bar"], last["speed_kmh"], last["pass"], last["row"]) == ("60.0", "10.0", "3", "6")
    assert float(last["on_depth_share"]) == pytest.approx(0.92)
    assert rows[0]["zone"] == "rest"


def test_geojson_is_points_with_properties(tmp_path):
    with pytest.raises(ScenarioError, match="no latitudes and longitudes"):
        write_geojson(tmp_path / "t.json", invented(), 0)
    place = np.broadcast_to(np.linspace(-33.0, -32.9, SECTIONS), SHAPE[1:])
    write_geojson(tmp_path / "t.json", invented(latitude=place, longitude=place + 180.0), 1)
    found = json.loads((tmp_path / "t.json").read_text())
    assert found["type"] == "FeatureCollection"
    assert len(found["features"]) == np.prod(SHAPE[1:])
    first = found["features"][0]
    assert first["geometry"] == {"type": "Point", "coordinates": [147.0, -33.0]}
    assert first["properties"]["on_depth_share"] == pytest.approx(0.96)


def test_a_row_that_failed_is_empty_in_exports():
    table = invented()
    table.sections["pin_peak"][0, 0, 0] = np.nan
    assert next(section_rows(table, 0))["pin_peak_N"] is None
    assert next(section_rows(table, 0))["pin"] is None


@pytest.mark.parametrize("shade", list(SHADES))
def test_maps_show_the_sections(shade):
    table = invented()
    figure = map_figure(table, 0, shade)
    meshes = figure.axes[0].collections
    assert len(meshes) == PASSES
    factor = SHADES[shade].factor
    shown = np.asarray(meshes[1].get_array()).reshape(ROWS, SECTIONS)
    assert shown == pytest.approx(table.sections[SHADES[shade].measure][0, 1] * factor)
    x = meshes[1].get_coordinates()[:, :, 0]
    y = meshes[1].get_coordinates()[:, :, 1]
    assert (x.min(), x.max()) == (0.0, 100.0)
    assert (y.min(), y.max()) == (pytest.approx(1.5), pytest.approx(3.0))
    assert y[0, 0] > y[-1, 0]  # the first row is the leftmost


def test_a_colour_means_the_same_on_the_maps_of_all_settings():
    table = invented()
    share = table.sections["on_depth_share"]
    for shade in SHADES:
        ends = {mesh.get_clim() for k in range(4) for mesh in map_figure(table, k, shade).axes[0].collections}
        assert len(ends) == 1
    ((low, high),) = {mesh.get_clim() for mesh in map_figure(table, 1).axes[0].collections}
    assert low <= 100.0 * np.percentile(share, 1.0)  # of another setting's clay
    assert high == 100.0


def test_what_lies_in_the_paddock_is_marked_on_its_map():
    ground = {"features": [
        {"kind": "bank", "start": [20.0, 0.0], "end": [40.0, 4.5], "height": 0.25, "base": 8.0},
        {"kind": "hump", "at": [70.0, 1.0], "height": -0.2, "length": 6.0, "width": 2.0},
        {"kind": "stone_patch", "at": [80.0, 3.9], "length": 20.0, "width": 1.0, "stones_per_ha": 4000.0},
        {"kind": "ruts", "tracks": [0.125], "depth": 0.025, "width": 0.6, "strength_share": 1.15},
    ]}  # fmt: skip
    table = invented()
    figure = map_figure(replace(table, inputs={**table.inputs, "ground": ground}), 0)
    assert amiss(figure) == []
    names = [text.get_text() for text in figure.axes[0].texts]
    assert names == ["clay", "bank, 250 mm", "hollow, 200 mm", "4000 stones/ha"]
    keys = [text.get_text() for text in figure.legends[0].get_texts()]
    assert keys == ["zone of other soil", "foot of bank, hollow", "patch of stones",
                    "rut behind a wheel track"]  # fmt: skip
    ruts = sorted(line.get_ydata()[0] for line in figure.axes[0].lines)
    assert ruts == pytest.approx([0.75 + 0.125, 2.25 + 0.125, 3.75 + 0.125])  # left of the middle of each pass


def test_the_rows_figure_shows_every_mean():
    summary = summarise(invented())
    figure = rows_figure(summary)
    assert amiss(figure) == []
    shown = [
        line.get_ydata()[0] for line in figure.axes[0].lines if line.get_marker() in "os" and len(line.get_xdata()) == 1
    ]
    assert sorted(shown) == pytest.approx(sorted(r.mean * 1e3 for r in summary.rows))
    other = rows_figure(summary, 0)
    assert "45 bar" in "".join(text.get_text() for text in other.texts)
    assert "One row stands out; row 3 runs" in "".join(text.get_text() for text in figure.texts).replace("\n", " ")


def test_the_rows_figure_has_room_whatever_the_machine(tmp_path):
    """Wheels beyond the outer rows took all room from the axes, and rows of one section have no interval."""
    table = invented()
    narrow = replace(table.machine, front_wheels=(-30.0, 30.0), rear_wheels=(-30.0, 0.0, 30.0))
    alone = summarise(replace(table, machine=narrow))
    alone = replace(alone, rows=tuple(replace(r, low=np.nan, high=np.nan) for r in alone.rows))
    figure = rows_figure(alone)
    save(figure, tmp_path / "rows.png")  # warnings are errors here
    axes = figure.axes[0]
    assert axes.get_position().height > 0.3
    assert axes.yaxis.get_tightbbox().x0 >= 0.0
    assert "machine's wheel (4 more beyond the rows)" in [text.get_text() for text in axes.get_legend().get_texts()]
    beside = rows_figure(summarise(replace(table, machine=replace(narrow, rear_wheels=()))))
    assert "machine's wheels: all beyond the rows" in [t.get_text() for t in beside.axes[0].get_legend().get_texts()]


def test_the_settings_figure_shows_areas():
    summary = summarise(invented())
    figure = settings_figure(summary)
    assert amiss(figure) == []
    slow, fast = figure.axes[0].lines[:2]
    assert slow.get_ydata() == pytest.approx([0.0, 0.045])
    assert fast.get_ydata() == pytest.approx([0.0, 0.045])
    assert "the most of all settings tried" in "".join(text.get_text() for text in figure.texts).replace("\n", " ")


def all_failed() -> PaddockTable:
    """Row 4 of pass 1 fails at every setting, at places of its own."""
    table = invented(problems=tuple((k, 0, 3, f"the arm was pressed far, {10 + k}.5 m along") for k in range(4)))
    for values in table.sections.values():
        if values.dtype.kind == "f":
            values[:, 0, 3] = np.nan
    return table


def test_a_paddock_in_which_every_setting_fails():
    """A clear answer on screen, in the document and over every figure: no NaN, and no setting named as if to be set."""
    table = all_failed()
    summary = summarise(table)
    assert not summary.crossed
    text = said_by(table, details=False)
    assert text.startswith("Invented: 0.04 ha in 3 passes of 6 rows No setting to use: at none of those tried")
    assert "(4 of 72 rows at 4 settings fail so)" in text
    assert text.count("could not be crossed") == 1  # one kind, though the places differ
    assert "nan" not in text.lower()
    assert "kgf" not in text
    found = to_dict(summary)
    assert "nan" not in json.dumps(found, allow_nan=False).lower()
    assert found["nearest"] is None
    assert found["by_zone"] is None
    assert [s["rows_failed"] for s in found["settings"]] == [1, 1, 1, 1]
    figures = [rows_figure(summary), settings_figure(summary), *(map_figure(table, 0, shade) for shade in SHADES)]
    drawn = [" ".join(text.get_text() for text in figure.texts) for figure in figures]
    assert [words for words in drawn if "nan" in words.lower()] == []
    assert "at none of those tried could every row be crossed" in drawn[1].replace("\n", " ")


def test_a_setting_with_a_failed_row_has_no_area_of_the_whole():
    table = invented(problems=((1, 0, 3, "why"),))
    table.sections["on_depth_share"][1, 0, 3] = np.nan
    (slow, *_) = settings_figure(summarise(table)).axes[0].lines
    assert np.isnan(slow.get_ydata()).tolist() == [False, True]


def zoned(rest: tuple[float, float], clay: tuple[float, float], **more) -> PaddockTable:
    """Shares on depth at 45 and 60 bar, the same at both speeds, in the rest and in the clay."""
    table = invented(**more)
    share = np.empty(SHAPE, dtype=np.float32)
    for k in range(4):
        share[k] = rest[k % 2]
        share[k, 1, :, 5:] = clay[k % 2]
    return replace(table, sections={**table.sections, "on_depth_share": share})


def test_no_zone_is_told_to_take_a_setting_that_is_worse_there():
    """The rule's margins would move the zone to 45 bar for its gauge load; it would lose 1.1 points on depth."""
    table = zoned((0.92, 0.96), (0.939, 0.95))
    gauge = table.sections["gauge_load_mean"].copy()
    gauge[1::2, 1, :, 5:] = 1180.0  # within the limit of 1200 N, but only just
    summary = summarise(replace(table, sections={**table.sections, "gauge_load_mean": gauge}))
    clay = summary.zones[1]
    assert clay.choice.oil_pressure == 45e5
    assert clay.on_depth_share < clay.shared
    assert clay.plan == "one"
    assert summary.by_zone is False
    assert to_dict(summary)["by_zone"] is None
    assert "Zones: none gains by a setting of its own." in said_by(summary.table, details=False)


def test_a_zone_takes_less_on_depth_only_where_the_one_setting_fails_a_limit_there():
    table = zoned((0.92, 0.96), (0.939, 0.95))
    off = table.sections["wheel_off_share"].copy()
    off[1::2, 1, :, 5:] = 0.06
    off[1::2, 0] = 0.0
    off[1::2, 2] = 0.0
    off[1::2, 1, :, :5] = 0.0  # the whole paddock meets the limit of 2 %, the clay alone does not
    summary = summarise(replace(table, sections={**table.sections, "wheel_off_share": off}))
    assert summary.choice.oil_pressure == 60e5
    assert summary.zones[1].plan == "own"
    assert "with the one setting a limit fails in a zone" in said_by(summary.table)


def test_a_zone_in_which_nothing_meets_the_limits_has_no_setting():
    summary = summarise(zoned((0.92, 0.99), (0.4, 0.5)), replace(Limits(), on_depth_share_min=0.8))
    assert [z.plan for z in summary.zones] == ["one", "none"]
    text = said_by(summary.table, summary.limits)
    assert "no setting tried meets every limit in clay" in text
    assert summary.by_zone is False


def test_a_zone_that_runs_shallow_says_how_to_see_it_with_its_depth_set_there():
    zone = Zone(name="clay", start=(50.0, 1.5), end=(100.0, 3.0), strength=2.5e6)
    table = zoned((0.92, 0.96), (0.939, 0.95), zones=(zone,))
    error = table.sections["error_mean"].copy()
    error[:, 1, :, 5:] -= 0.0105
    inputs = {**table.inputs, "soil": {"strength": 1.2e6}}
    text = said_by(replace(table, sections={**table.sections, "error_mean": error}, inputs=inputs))
    assert "Clay runs 12 mm too shallow. Depth is set on the soil outside zones (1.2 MPa)" in text
    assert "a copy of the file with strength_MPa = 2.5 in [soil] shows clay with its depth set there" in text


def test_a_setting_that_is_not_met_says_why():
    summary = summarise(invented())
    found = [setting_dict(summary, k) for k in range(len(summary.table.settings))]
    met = meets(summary.table.window(summary.limits), summary.limits).T.ravel()
    assert [one["not_met"] is None for one in found] == met.tolist()
    reasons = [one["not_met"] for one in found if one["not_met"]]
    assert reasons
    told = " ".join(paddock_text(summary, details=True).split())
    assert all(" against at " in reason and reason in told for reason in reasons)


def test_a_short_screen_has_the_answer_first_and_fits():
    lines = paddock_text(summarise(invented())).splitlines()
    assert len(lines) <= 22  # with the result's name 24
    assert lines[2].startswith("Set 60 bar (204 kgf a row) at 10 km/h, set depth 40 mm")
    assert max(len(line) for line in lines if line.startswith("  ")) <= 78
