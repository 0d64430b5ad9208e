"""`rowbench modes` as a grower and a designer would use it: screen, JSON, faults, figures."""

from __future__ import annotations

import json

import pytest

from analysis.cli.main import main

FIELD = """title = "Mine"
[ground]
length_m = 40
roughness = { class = "D" }
"""
RIDGES = """
[[ground.features]]
kind = "ridges"
spacing_m = 0.5
height_mm = 15
"""


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mine.toml").write_text(FIELD, encoding="utf-8")
    (tmp_path / "ridges.toml").write_text(FIELD + RIDGES, encoding="utf-8")
    return tmp_path


def said(capsys, *words):
    assert main(["modes", *words]) == 0
    return capsys.readouterr().out


def refused(capsys, *words):
    assert main(["modes", *words]) == 2
    return capsys.readouterr().err


def test_the_answer_stands_first_on_one_screen(capsys, here):
    text = said(capsys, "mine.toml")
    lines = text.splitlines()
    assert len(lines) <= 24
    assert all(len(line) <= 80 for line in lines)
    order = ["What shakes it: Mine", "At your 8 km/h ridges 0.4", "No speed tried keeps ±10 mm", "Other ridges so high",
             "What would change it", "On these ridges, at km/h", "unit bounces on tyre and soil", "by its spectrum",
             "--details"]  # fmt: skip
    places = [text.index(word) for word in order]
    assert places == sorted(places)
    assert "seed" not in text


def test_details_tell_the_rest(capsys, here):
    text = said(capsys, "mine.toml", "--details")
    flat = " ".join(text.split())
    for word in ("heights alone, class B", "strength alone, CV 0.25", "For each mm of waves",
                 "Pin loads on this ground", "while the seals are stuck", "a gauge tyre half as stiff",
                 "Small motions leave out stops", "no design loads"):  # fmt: skip
        assert word in flat
    assert all(len(line) <= 80 for line in text.splitlines())


def test_the_ridges_of_the_file_are_told_of_and_what_to_drive_is_right(capsys, here):
    """Crossed as they are: at the speed named as still good the whole model stays within ±10 mm, one above does not."""
    d = json.loads(said(capsys, "ridges.toml", "--json"))
    ridges = d["ridges"]
    assert (ridges["spacing_m"], ridges["height_mm"], ridges["source"]) == (pytest.approx(0.5), 15.0, "file")
    assert "Your ridges (0.50 m apart along the row, 15 mm high) shake it most at" in d["answer"][0]
    upto = ridges["within_tolerance_up_to_kmh"]
    assert f"{upto:g} km/h the depth stays within ±10 mm" in d["answer"][1]
    by_speed = {one["speed_kmh"]: one for one in ridges["by_speed"]}
    assert by_speed[upto]["worst_error_mm"] <= 10.0 < by_speed[upto + 1]["worst_error_mm"]
    # the rule for other ridges finds the worst speed of these
    assert ridges["speed_to_avoid_kmh_per_m"]["value"] * 0.5 == pytest.approx(ridges["worst_speed_kmh"], abs=1.0)


def test_json_holds_chart_transfer_shapes_and_ground(capsys, here):
    d = json.loads(said(capsys, "mine.toml", "--json", "--spacing", "0.7", "--height", "12"))
    assert (d["ridges"]["spacing_m"], d["ridges"]["height_mm"], d["ridges"]["source"]) == (0.7, 12.0, "asked")
    assert [one["kind"] for one in d["modes"]] == ["heave", "pitch", "bounce", "press"]
    chart = d["chart"]
    assert len(chart["depth_swing_per_height"]) == len(chart["speed_kmh"])
    assert len(chart["depth_swing_per_height"][0]) == len(chart["spacing_m"])
    assert len(d["transfer"]["pins_N_per_mm"]) == 14
    ground = d["ground"]
    assert ground["by_spectrum"]["depth_sd_mm"] == pytest.approx(
        ground["this_ground"]["small_motions"]["depth_sd_mm"], rel=0.25
    )
    assert ground["heights_part_from_class"] is None or ground["heights_part_from_class"] in "EF"
    assert d["derivatives_error"] < 1e-6


def test_seals_that_bind_leave_nothing_that_resonates(capsys, here):
    """Friction and a slow turn of it so large that the unit creeps: no speed stands out on any ridges."""
    stiff = ("--set", "unit.cylinder.seal_force_N=4000", "--set", "unit.cylinder.seal_speed_mm_per_s=100",
             "--set", "settings.toolbar=level")  # fmt: skip
    text = said(capsys, "mine.toml", *stiff, "--height", "5")
    assert "Nothing resonates within your speeds." in text
    assert "Other ridges so high" not in text


def test_faults_are_told_at_once(capsys, here):
    text = refused(capsys, "mine.toml", "--spacing", "0", "--height", "x", "--pressure", "900", "--figure", "a.txt")
    for word in ("--spacing", "--height", "--pressure", "--figure"):
        assert word in text
    assert refused(capsys).startswith("rowbench: rowbench modes: no FILE")


def test_a_wheel_that_carries_nothing_is_told_as_a_fault(capsys, here):
    text = refused(capsys, "mine.toml", "--set", "soil.strength_MPa=3.5", "--pressure", "30")
    assert "the gauge wheel carries nothing on flat ground at 30 bar" in text


def test_figures_are_drawn(capsys, here):
    said(capsys, "mine.toml", "--figure", "chart.png", "--shapes", "shapes.svg")
    assert (here / "chart.png").stat().st_size > 20_000
    svg = (here / "shapes.svg").read_text(encoding="utf-8")
    assert svg.startswith("<?xml")
    assert "a file of its own for each" in refused(capsys, "mine.toml", "--figure", "one.png", "--shapes", "one.png")


def test_no_speed_is_named_where_the_wheel_flies_at_every_one(capsys, here):
    """At 20 bar on a precharge of 24 the depth swings least at the fastest speed, the wheel mostly in the air."""
    text = " ".join(said(capsys, "mine.toml", "--pressure", "20").split())
    assert "No speed tried keeps the gauge wheel on the ground on them" in text
    assert "calmest" not in text
    assert "calmer" not in text
    assert "the gas gives no cushion" in text


def test_a_file_with_one_speed_is_judged_over_speeds_about_it(capsys, here):
    (here / "one.toml").write_text(f"{FIELD}[search]\nspeeds_kmh = [8]\n", encoding="utf-8")
    d = json.loads(said(capsys, "one.toml", "--json"))
    speeds = [one["speed_kmh"] for one in d["ridges"]["by_speed"]]
    assert len(speeds) >= 6
    assert speeds == sorted(speeds)
    assert 8.0 in speeds
    assert d["ridges"]["kind"] == "peak"


def test_a_fast_speed_that_keeps_the_depth_is_not_called_too_fast(capsys, here):
    text = " ".join(said(capsys, "mine.toml", "--pressure", "250").split())
    assert "At 5, 11 and 12 km/h the depth stays within ±10 mm on them, the wheel on the ground" in text
    assert "drive no faster" not in text
