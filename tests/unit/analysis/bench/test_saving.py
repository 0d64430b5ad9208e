"""What lies on the bench as a file: the same to the bit, in its folder alone, nothing written over unasked."""

from __future__ import annotations

import tomllib

import benches
import numpy as np
import pytest

from analysis.bench.saving import scene_text
from analysis.bench.scene import Scene, document_of, scene_of
from scenarios.load import load
from sim.run import simulate

OWN = """# my back paddock
title = "Back"  # told to nobody
[ground]
length_m = 30   # short
seed = 4
[ground.roughness]
class = "C"
[[ground.features]]
kind = "hump"   # the old fence line
at_m = 12
height_mm = 80
length_m = 4
[unit]
base = "demo"
[unit.carrier]
mass_kg = 99  # weighed
"""
MOVED = {
    "file": "own.toml",
    "changes": {"settings.oil_pressure_bar": 47.5, "unit.disc.edge_width_mm": 4, "together.arm_m": 0.57,
                "title": "Ba\"ck <b>"},
    "features": [{"kind": "hump", "at_m": 13.35, "height_mm": 95, "length_m": 3.85},
                 {"kind": "rut", "at_m": 20, "depth_mm": 60, "width_m": 0.5}],
    "stones": [{"at_m": 25, "length_m": 0.3, "top_mm": 21}],
    "roughness": "D",
}  # fmt: skip

LITTLE = {"ground.length_m": 26, "search.pressures_bar": [45], "search.speeds_kmh": [8], "search.seeds": 1}


@pytest.fixture
def bench(tmp_path):
    (tmp_path / "own.toml").write_text(OWN, encoding="utf-8")
    return benches.bench_in(tmp_path, "own.toml")


def save(bench, name="mine", scene=None, **more):
    return benches.asked(bench, "save", {"scene": MOVED if scene is None else scene, "name": name, **more})[:2]


def test_a_saved_scene_runs_the_same_to_the_bit(bench, tmp_path):
    assert save(bench)[0] == 200
    made = bench.desk.made(scene_of(MOVED))
    saved = load(tmp_path / "mine.toml")
    run = simulate(saved.unit, saved.soil, saved.track(), saved.settings)
    assert all(np.array_equal(run.series[name], made.run.series[name]) for name in run.series)
    assert np.array_equal(run.pins, made.run.pins)
    assert saved.title == 'Ba"ck <b>'
    assert saved.limits == made.scenario.limits


def test_comments_stay_beside_what_they_are_about(bench, tmp_path):
    save(bench)
    text = (tmp_path / "mine.toml").read_text(encoding="utf-8")
    for comment in ("# my back paddock", "# short", "# weighed"):
        assert comment in text
    assert "the old fence line" not in text
    assert text.count('kind = "hump"') == 1
    assert "edge_width_mm = 4  # set on the bench" in text


def test_an_untouched_file_is_saved_as_it_was(bench, tmp_path):
    scene = benches.opened(bench, "own.toml")
    save(bench, scene=scene)
    head, _, rest = (tmp_path / "mine.toml").read_text(encoding="utf-8").partition("\n")
    assert head.startswith("# Saved from the bench")
    assert rest == OWN


@pytest.mark.parametrize(
    "text",
    ['title = "x"\nground = { length_m = 20, roughness = { class = "C" } }\n',
     'title = "x"\nground.length_m = 20\nground.features = [{ kind = "drop", at_m = 5, depth_mm = 5, length_m = 2 }]\n',
     'title = "x"\n[ground]\nlength_m = 20\n[stones]\nplaced = [{ at_m = 9, length_m = 0.2, top_mm = 10 }]\n'],
)  # fmt: skip
def test_a_file_however_it_is_written_says_what_lies_on_the_bench(tmp_path, text):
    (tmp_path / "own.toml").write_text(text, encoding="utf-8")
    bench = benches.bench_in(tmp_path)
    for scene in (scene_of(MOVED), scene_of({**MOVED, "features": [], "stones": []}), Scene("own.toml")):
        opened = bench.desk.opened("own.toml")
        assert tomllib.loads(scene_text(scene, opened, tmp_path)) == document_of(scene, opened)


def test_what_a_file_takes_over_is_found_from_where_it_is_saved(tmp_path):
    (tmp_path / "farm").mkdir()
    (tmp_path / "unit.toml").write_text("[unit.carrier]\nmass_kg = 88\n")
    (tmp_path / "elsewhere.toml").write_text('title = "x"\n[ground]\nlength_m = 20\n[unit]\nbase = "unit.toml"\n')
    bench = benches.bench_in(tmp_path / "farm", str(tmp_path / "elsewhere.toml"))
    scene = benches.opened(bench, str(tmp_path / "elsewhere.toml"))
    assert save(bench, scene=scene)[0] == 200
    assert load(tmp_path / "farm" / "mine.toml").unit.carrier.mass == 88.0


def test_a_file_that_is_there_is_replaced_only_when_asked(bench, tmp_path):
    (tmp_path / "mine.toml").write_text("precious")
    assert save(bench) == (409, {"exists": ["mine.toml"]})
    assert (tmp_path / "mine.toml").read_text() == "precious"
    assert save(bench, over="yes")[0] == 409
    assert save(bench, over=True)[0] == 200
    assert load(tmp_path / "mine.toml").length == 30.0


@pytest.mark.parametrize(
    "name",
    ["../out", "/tmp/out", "a/b", "a\\b", "..", ".", ".hidden", "", " ", "x" * 200, "con", "aux.x", "a\nb", "a\0b",
     "a:b", "mine.toml/../../x", "~", "a.", 7, None, ["x"]],
)  # fmt: skip
def test_a_name_that_is_more_than_a_name_is_refused(bench, tmp_path, name):
    before = sorted(tmp_path.parent.rglob("*"))
    status, answer = save(bench, name=name, over=True)
    assert status == 422
    assert answer["faults"]
    assert sorted(tmp_path.parent.rglob("*")) == before


def test_a_link_out_of_the_folder_is_not_written_through(bench, tmp_path):
    other = tmp_path.parent / f"{tmp_path.name}-outside.toml"
    (tmp_path / "mine.toml").symlink_to(other)
    assert save(bench, over=True)[0] == 422
    assert not other.exists()


def test_a_scene_at_fault_is_not_saved(bench, tmp_path):
    assert save(bench, scene={**MOVED, "changes": {"settings.speed_kmh": 99}})[0] == 422
    assert not (tmp_path / "mine.toml").exists()


def test_the_report_is_written_with_the_file_or_neither(bench, tmp_path):
    scene = {**MOVED, "changes": {**MOVED["changes"], **LITTLE}}
    status, told = save(bench, "with page", scene, page=True)
    assert (status, told["written"]) == (200, ["with page.toml", "with page.html"])
    page = (tmp_path / "with page.html").read_text(encoding="utf-8")
    assert "Ba&#34;ck &lt;b&gt;" in page
    assert "&#39;with page.toml&#39;" in page
    assert bench.saved == ["with page.toml", "with page.html"]
