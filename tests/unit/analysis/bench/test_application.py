"""What the page asks and is answered, without a server between."""

from __future__ import annotations

import json

import benches
import numpy as np
import pytest

from analysis.bench.desk import Desk
from analysis.bench.opening import MOST, first_scene
from analysis.bench.scene import Scene
from analysis.crossing.summary import run_summary
from analysis.explain.places import worst_places
from analysis.explain.sentences import place_sentence
from analysis.window.cross_grid import search
from analysis.window.limits import checks, meets
from scenarios.format.library import library
from scenarios.load import load
from sim.run import simulate

GRID = {"search.pressures_bar": [35, 45, 55], "search.speeds_kmh": [6, 8, 10]}


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    return benches.bench_in(tmp_path_factory.mktemp("bench"))


@pytest.fixture(scope="module")
def hump(bench):
    return benches.asked(bench, "cross", {"scene": benches.opened(bench)})[1]


def value_of(answer, name):
    return next(one["value"] for one in answer["measures"] if one["name"] == name)


def test_what_is_told_is_the_run_of_that_scenario(hump):
    scenario = load("hump")
    document = run_summary(simulate(scenario.unit, scenario.soil, scenario.track(), scenario.settings), scenario)
    assert value_of(hump, "error_sd") == pytest.approx(document["depth"]["error_sd_mm"], rel=1e-12)
    assert value_of(hump, "too_deep") == pytest.approx(document["depth"]["error_max_mm"], rel=1e-12)
    assert value_of(hump, "gauge_load_mean") == pytest.approx(document["gauge_load"]["mean_N"], rel=1e-12)
    assert value_of(hump, "pin_peak") == pytest.approx(max(p["peak_N"] for p in document["pins"].values()) / 1e3)
    assert hump["setting"]["pressure"] == 40.0
    assert hump["title"] == scenario.title


@pytest.mark.parametrize(("pressure", "speed"), [(40, 8), (55, 12)])
def test_a_crossing_is_judged_as_a_window_judges_it(bench, pressure, speed):
    scene = {**benches.opened(bench), "roughness": "D"}
    scene["changes"] = {"settings.oil_pressure_bar": pressure, "settings.speed_kmh": speed}
    answer = benches.asked(bench, "cross", {"scene": scene})[1]
    scenario = bench.desk.scenario(Scene("hump", scene["changes"], roughness="D"))
    window = search(scenario, [pressure], [speed], (scenario.seed,), unchanged=False)
    assert answer["ok"] == bool(meets(window, window.limits)[0, 0])
    assert answer["fails"] == [c.sentence() for c in checks(window, window.limits, 0, 0) if not c.met]
    assert answer["nearest"] == checks(window, window.limits, 0, 0)[0].sentence()


def test_a_place_is_explained_as_explain_does(bench):
    scene = benches.opened(bench)
    made = bench.desk.made(Scene("hump"))
    worst = worst_places(made.run, 0.010, 0.0, 40.0)[0]
    told = benches.asked(bench, "place", {"scene": scene, "at": worst.at})[1]
    assert told["sentence"] == place_sentence(worst, made.run)


def test_ground_is_laid_again_only_where_it_changed(bench):
    desk = bench.desk
    one, other = (
        desk.scenario(Scene("rough", {"ground.length_m": 20})),
        desk.scenario(Scene("rough", {"ground.length_m": 20, "settings.oil_pressure_bar": 50})),
    )
    laid = desk.laid(one)
    assert desk.laid(other) is laid
    deeper = desk.scenario(Scene("rough", {"ground.length_m": 20, "settings.set_depth_mm": 45}))
    assert desk.laid(deeper) is not laid
    rougher = desk.scenario(Scene("rough", {"ground.length_m": 20}, roughness="E"))
    assert not np.array_equal(desk.laid(rougher).track.ground, laid.track.ground)


def test_the_map_is_the_window_of_the_ground_in_view(bench):
    scene = {
        **benches.opened(bench),
        "changes": {"search.pressures_bar": [35, 45, 55], "search.speeds_kmh": [6, 8, 10]},
    }
    parts = [benches.asked(bench, "map", {"scene": scene, "part": part})[1] for part in range(3)]
    assert [one["parts"] for one in parts] == [3, 3, 3]
    coarse, *whole = ({(c["i"], c["j"]): c for c in one["cells"]} for one in parts)
    fields = whole[0] | whole[1]
    assert sorted(coarse) == [(i, j) for i in (0, 2) for j in (0, 2)]
    assert sorted(fields) == [(i, j) for i in range(3) for j in range(3)]
    assert all(fields[at] == cell for at, cell in coarse.items())
    scenario = bench.desk.scenario(Scene("hump", scene["changes"]))
    window = search(scenario, seeds=(scenario.seed,), unchanged=False)
    for (i, j), cell in fields.items():
        nearest = checks(window, window.limits, i, j)[0]
        assert (cell["ok"], cell["binds"]) == (bool(meets(window, window.limits)[i, j]), nearest.sentence())
    assert benches.asked(bench, "map", {"scene": scene, "part": 3})[0] == 422


def test_every_file_of_the_library_can_be_laid_on_the_bench(bench):
    for entry in library():
        scene, told = first_scene(bench.desk.opened(entry.name))
        scenario = bench.desk.scenario(scene)
        assert scenario.length <= MOST + 1e-9, entry.name
        assert bool(told) == (load(entry.name).length > MOST), entry.name
        assert bench.desk.laid(scenario).track.x.size > 100


def test_what_a_long_file_loses_on_the_bench_is_told(tmp_path):
    (tmp_path / "long.toml").write_text(
        'title = "long"\n[ground]\nlength_m = 300\nroughness = { class = "C" }\n'
        '[[ground.features]]\nkind = "hump"\nat_m = 70\nheight_mm = 100\nlength_m = 3\n'
        '[[ground.features]]\nkind = "hump"\nat_m = 200\nheight_mm = 100\nlength_m = 3\n'
    )
    scene, told = first_scene(Desk(tmp_path, "hump").opened("long.toml"))
    assert scene.changes == {"ground.length_m": 75.0}
    assert [one["at_m"] for one in scene.features] == [70]
    assert "300 m of ground, the bench crosses 75 m" in told[0]
    assert "drawn anew" in told[0]
    assert told[1].startswith("1 of its features")


def test_every_number_of_a_scene_is_offered_with_range_unit_and_meaning(bench):
    scene = {**benches.opened(bench), "changes": {"unit.carrier.mass_kg": 111}}
    found = benches.asked(bench, "keys", {"scene": scene})[1]
    keys = {one["name"]: one for one in found["keys"]}
    assert keys["unit.carrier.mass_kg"]["value"] == 111
    assert {"unit.gauge_wheel.tyre_stiffness_kN_per_m", "soil.strength_MPa", "limits.on_depth_share_min"} <= set(keys)
    assert all(one["doc"] and one["low"] <= one["high"] for one in keys.values())
    assert set(found["kinds"]) >= {"hump", "hollow", "rut", "stone"}


def test_faults_are_told_without_the_place_of_the_file_all_at_once(bench):
    scene = benches.opened(bench)
    scene["features"][0]["at_m"] = 400
    scene["changes"] = {"settings.speed_kmh": 90, "unit.no_such": 1}
    status, answer, _ = benches.asked(bench, "cross", {"scene": scene})
    assert status == 422
    assert not any("/" in text.split(":")[0] for text in answer["faults"])
    assert "given 90" in " ".join(answer["faults"])


def test_a_crossing_that_cannot_be_made_is_told(bench):
    scene = {**benches.opened(bench), "features": [{"kind": "drop", "at_m": 20, "depth_mm": 2000, "length_m": 0.1}]}
    status, answer, _ = benches.asked(bench, "cross", {"scene": scene})
    assert (status, len(answer["faults"])) == (422, 1)


@pytest.mark.parametrize(
    "body",
    [b"", b"{", b"[]", b"1", b'"x"', b'{"scene": 1}', b'{"scene": {"file": 3}}',
     b'{"scene": {"file": "hump", "changes": [1]}}',
     b'{"scene": {"file": "hump", "features": [1]}}', b'{"scene": {"file": "hump", "roughness": "Z"}}',
     b'{"scene": {"file": "hump", "changes": {"settings.speed_kmh": NaN}}}', b"[" * 100_000,
     b'{"scene": {"file": "hump", "changes": {"ground": 3}}}', b'{"scene": {"file": "hump", "changes": {"": 3}}}',
     b'{"scene": {"file": "hump", "features": [{"kind": "hump"}]}}', b'{"scene": {"file": "hump", "stones": [{}]}}'],
)  # fmt: skip
def test_a_question_that_is_none_is_a_fault(bench, body):
    status, answer, _ = benches.asked(bench, "cross", body=body)
    assert status == 422
    assert answer["faults"]


@pytest.mark.parametrize(
    "name", ["../hump.toml", "/etc/passwd", "..", "", "no_such", "hump.toml", "a/b.toml", "hump\0"]
)
def test_only_files_of_the_folder_and_the_library_are_opened(bench, name):
    assert benches.asked(bench, "open", {"file": name})[0] == 422


def test_a_link_out_of_the_folder_is_not_opened(tmp_path):
    (tmp_path / "in").mkdir()
    (tmp_path / "secret.toml").write_text('title = "x"\n[ground]\nlength_m = 10\n')
    (tmp_path / "in" / "link.toml").symlink_to(tmp_path / "secret.toml")
    bench = benches.bench_in(tmp_path / "in")
    assert benches.asked(bench, "open", {"file": "link.toml"})[0] == 422


def test_other_words_and_ways_are_not_there(bench):
    assert benches.asked(bench, "no-such", {})[0] == 404
    assert benches.asked(bench, "cross", {}, method="GET")[0] == 404
    assert benches.asked(bench, "../x", {}, method="GET")[0] == 404


def test_answers_hold_plain_numbers_only(hump):
    assert json.loads(json.dumps(hump, allow_nan=False)) == hump


def test_a_file_that_is_changed_meanwhile_changes_nothing_until_it_is_opened_again(tmp_path):
    own = tmp_path / "own.toml"
    own.write_text('title = "one"\n[ground]\nlength_m = 10\n')
    bench = benches.bench_in(tmp_path, "own.toml")
    scene = benches.opened(bench, "own.toml")
    first = benches.asked(bench, "cross", {"scene": scene})[1]
    own.write_text('title = "two"\n[ground]\nlength_m = 12\n')
    again = benches.asked(bench, "cross", {"scene": {**scene, "changes": {"settings.speed_kmh": 9}}})[1]
    assert (first["title"], again["title"], again["to_m"]) == ("one", "one", pytest.approx(10.0))
    told = benches.asked(bench, "cross", {"scene": benches.opened(bench, "own.toml")})[1]
    assert (told["title"], told["to_m"]) == ("two", pytest.approx(12.0))
