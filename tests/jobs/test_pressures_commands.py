"""Setting the machine at the command line: pressures, disc, press, windows over precharges, speed over a stone."""

import called
import pytest
from called import answer, refused
from every import every

from analysis.cli.main import main

SHORT = """title = "Short"
[ground]
length_m = 20
roughness = { class = "C" }
[search]
seeds = 1
[stones]
rate_per_100m = 20
"""


@pytest.fixture(autouse=True)
def folder(tmp_path, monkeypatch):
    """An empty folder with one short scenario."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "short.toml").write_text(SHORT, encoding="utf-8")
    return tmp_path


def text(capsys, *words):
    return " ".join(called.text(capsys, *words).split())


def test_pressures(capsys, folder):
    words = ["pressures", "short.toml", "--pressures", "40:60:3", "--cold", "-5", "--hot", "40", "--precharge", "30"]
    d = answer(capsys, *words, "--pressure", "50", "--evenness", "60", "--travel", "100", "--figure", "p.png")
    assert d["oil_pressures_bar"] == [40.0, 50.0, 60.0]
    assert d["precharge_bar"] == 30.0
    assert [d["states"][name]["temperature_degC"] for name in ("cold", "hot")] == [-5.0, 40.0]
    assert d["own"]["cold"]["oil_pressure_bar"] == 50.0
    advice = d["precharge_advice"]
    assert 20.0 < advice["least_bar"] < 30.0 < advice["most_bar"] < 40.0
    assert advice["verdict"] == "within"
    for given, verdict in (("15", "low"), ("50", "high")):
        assert answer(capsys, *words[:-1], given)["precharge_advice"]["verdict"] == verdict
    assert {size["wanted_change"] for size in d["accumulator"]} == {0.6}
    assert d["accumulator"][0]["travel_mm"] == pytest.approx([-100.0, 100.0])
    assert (folder / "p.png").read_bytes().startswith(b"\x89PNG")
    told = text(capsys, *words)
    full = d["states"]["cold"]["cushion_lost_below_bar"]
    assert f"lost below {full:.1f} bar at −5 °C" in told
    assert "dry nitrogen" in told
    assert "common practice; no standard at hand" in told


def test_disc(capsys, folder):
    d = answer(capsys, "disc", "short.toml", "--depths", "30:50:3", "--diameters", "500:620:3", "--stickiness", "1:9:2",
               "--strengths", "0.5:1:2", "--speed", "10", "--figure", "d.png")  # fmt: skip
    assert [row[0]["depth_mm"] for row in d["by_depth"]] == pytest.approx([30.0, 40.0, 50.0])
    assert [row[0]["diameter_mm"] for row in d["by_diameter"]] == pytest.approx([500.0, 560.0, 620.0])
    assert [row[0]["strength_MPa"] for row in d["by_strength"]] == pytest.approx([0.5, 1.0])
    assert d["stickiness"] == [1.0, 9.0]
    assert 0.0 < d["along"]["not_turned_share"] < 0.1  # stones lift the disc out of the soil
    assert d["along"]["not_turned_share"] >= d["along"]["out_of_soil_share"] > 0.0
    assert (folder / "d.png").stat().st_size > 1000
    assert f"{d['own']['margin']:.3g} times as much" not in text(capsys, "disc", "short.toml")  # another speed
    assert f"{d['own']['margin']:.3g} times as much" in text(capsys, "disc", "short.toml", "--speed", "10")


def test_press(capsys, folder):
    words = ["press", "short.toml", "--notches=-1:1:3", "--speeds", "6:10:2", "--workers", "1"]
    d = answer(capsys, *words, "--figure", "w.svg")
    assert d["notches"] == [-1, 0, 1]
    assert d["speeds_kmh"] == [6.0, 8.0, 10.0]
    assert d["press_load_per_notch_N"] > 0.0 > d["gauge_load_per_notch_N"]
    assert "closing zone" in (folder / "w.svg").read_text()
    assert f"adds {d['press_load_per_notch_N']:.0f} N to the closing zone" in text(capsys, *words)


SMALL = ["--pressures", "50:60:2", "--speeds", "7:8:2", "--workers", "1"]


def test_a_window_over_precharges_and_depths_names_them(capsys, folder):
    words = ["window", "short.toml", *SMALL, "--precharges", "20:30:2", "--depths", "30:40:2"]
    d = answer(capsys, *words, "--stone", "30", "--disc-limit", "10", "--figure", "w.png")
    found = d["pick"] or d["nearest"]
    pairs = [(one["precharge_bar"], one["set_depth_mm"]) for one in d["searched"]]
    assert pairs == [(20.0, 30.0), (20.0, 40.0), (30.0, 30.0), (30.0, 40.0)]
    assert found["set_depth_mm"] == 40.0
    assert [one["wanted"] for one in d["searched"]] == [False, True, False, True]
    own = d["searched"][pairs.index((found["precharge_bar"], found["set_depth_mm"]))]
    assert (own["pick"] or own["nearest"])["says"] == found["says"]
    assert d["stone"][0]["limit_N"] == 10e3
    assert d["stone"][0]["oil_pressure_bar"] == found["oil_pressure_bar"]
    assert d["stone"][0]["per_hectare"]["speed_kmh"] == found["speed_kmh"]
    assert (folder / "w.png").stat().st_size > 1000
    code = main(words)
    out, err = capsys.readouterr()
    assert code == 0
    assert "crossings: 16 of 16" in err
    said = " ".join(out.split())
    pair = f"precharge {found['precharge_bar']:g} bar, set depth {found['set_depth_mm']:g} mm"
    assert f"ver all: {pair}" in said
    assert "Depth: 40 mm is wanted (the file's set depth)" in said


@pytest.mark.parametrize(
    ("words", "depths", "wanted", "source"),
    [
        (["--depths", "30"], [30.0, 40.0], [False, True], "file"),
        (["--depths", "40"], [40.0], [True], "file"),
        (["--depths", "50:60:2"], [40.0, 50.0, 60.0], [True, False, False], "file"),
        (["--depth-range", "35:45"], [35.0, 40.0, 45.0], [True, True, True], "option"),
        (["--depth-range", "30"], [30.0, 40.0], [True, False], "option"),
        (["--depths", "30:50:3", "--depth-range", "45:60"], [30.0, 40.0, 50.0], [False, False, True], "option"),
    ],
)
def test_which_depths_a_window_may_pick(capsys, words, depths, wanted, source):
    d = answer(capsys, "window", "short.toml", "--pressures", "50", "--speeds", "7", "--workers", "1", *words)
    assert d["depths_mm"] == depths
    assert [one["wanted"] for one in d["searched"]] == wanted
    assert d["depths_wanted"]["source"] == source
    found = d["pick"] or d["nearest"]
    assert wanted[depths.index(found["set_depth_mm"])]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--depth-range", "45:35"], '--depth-range: given "45:35"; allowed:'),
        (["--depth-range", "30:40:3"], '--depth-range: given "30:40:3"; allowed:'),
        (["--depth-range", "deep"], "try: --depth-range 35:45"),
        (["--depth-range", "3:40"], "each 5 to 150 mm"),
        (["--depth-range", "35:45", "--depths", "20:30:2"], "20, 30 mm, none of which may be picked"),
    ],
)
def test_a_range_of_depths_that_cannot_be_is_refused(capsys, words, said):
    assert main(["window", "short.toml", *SMALL, *words]) == 2
    assert said in capsys.readouterr().err


def test_a_window_without_those_options_is_what_it_was(capsys):
    d = answer(capsys, "window", "short.toml", *SMALL)
    assert not {"searched", "precharges_bar", "depths_mm", "stone"} & set(d)
    assert "precharge_bar" not in (d["pick"] or d["nearest"])
    assert "Searched" not in text(capsys, "window", "short.toml", *SMALL)


def test_no_pick_over_the_highest_oil_pressure_of_the_file(capsys, folder):
    limits = "[limits]\nwheel_off_share_max = 1.0\non_depth_share_min = 0.0\ngauge_load_min_N = 0\n"
    limits += "gauge_load_max_N = 20000\nmax_oil_pressure_bar = 55\n"
    (folder / "held.toml").write_text(SHORT + limits, encoding="utf-8")
    d = answer(capsys, "window", "held.toml", *SMALL)
    assert d["pick"]["oil_pressure_bar"] == 50.0
    assert d["meets_limits"] == [[True, True], [False, False]]
    d = answer(capsys, "pressures", "held.toml", "--pressures", "50:60:2")
    assert d["allowed"] == [True, False]
    assert d["max_oil_pressure_bar"] == 55.0


def test_a_run_says_how_fast_over_a_stone(capsys):
    words = ["run", "short.toml", "--pressure", "50", "--speed", "9", "--stone", "40", "--pin-limit", "20"]
    d = answer(capsys, *words, "--disc-limit", "10")
    assert [one["limit_on"] for one in d["stone"]] == ["disc", "pin"]
    stone = d["stone"][1]
    assert (stone["proud_mm"], stone["limit_N"], stone["oil_pressure_bar"]) == (40.0, 20e3, 50.0)
    assert stone["per_hectare"]["strikes_per_ha"] == pytest.approx(8000.0)
    told = text(capsys, *words)
    assert "How fast over a stone" in told
    assert stone["says"][1:] in told
    assert "stone" not in answer(capsys, "run", "short.toml")


def test_the_files_own_limit_on_pins_serves_a_stone(capsys, folder):
    (folder / "held.toml").write_text(SHORT + "[limits]\npin_peak_max_N = 22000\n", encoding="utf-8")
    d = answer(capsys, "run", "held.toml", "--stone", "30")
    assert d["stone"][0]["limit_N"] == 22e3
    err = refused(capsys, "run", "short.toml", "--stone", "30")
    assert "--stone: no force" in err
    assert "--pin-limit or --disc-limit" in err


def test_a_depth_beyond_a_small_disc_is_refused(capsys, folder):
    (folder / "deep.toml").write_text(SHORT + "[settings]\nset_depth_mm = 100\n", encoding="utf-8")
    err = refused(capsys, "disc", "deep.toml", "--diameters", "200:600:3")
    assert "depth 100 mm given; above 0 up to 0.8 of the radius, 80 mm" in err


@every(
    ("words", "parts"),
    [
        (["pressures"], ["no FILE"]),
        (["pressures", "short.toml", "--cold", "20", "--hot", "10"], ["--cold", "below --hot"]),
        (["pressures", "short.toml", "--cold", "-99", "--evenness", "0", "--travel", "x"],
         ["--cold", "--evenness", "--travel", "3 faults"]),
        (["pressures", "short.toml", "--precharge", "999"], ["--precharge"]),
        (["window", "short.toml", "--precharges", "1:9", "--depths", "400"], ["first:last:count", "--depths"]),
        (["run", "short.toml", "--pin-limit", "5"], ["without --stone"]),
        (["run", "short.toml", "--stone", "0", "--pin-limit", "5"], ["--stone", "1 to 300 mm"]),
        (["press", "short.toml", "--notches", "0.5"], ["--notches", "whole numbers"]),
        (["press", "short.toml", "--notches=-30:0:2"], ["--notches", "-10 to 10"]),
        (["disc", "missing.toml", "--strengths", "99"], ["--strengths", "missing.toml"]),
        (["disc", "short.toml", "--diameter", "500"], ["unknown option --diameter", "--diameters"]),
    ],
)  # fmt: skip
def test_bad_options_are_told_with_what_is_allowed(capsys, words, parts):
    err = refused(capsys, *words)
    assert "try:" in err
    for part in parts:
        assert part in err


def test_a_single_number_is_a_series_of_one(capsys):
    words = ["window", "short.toml", "--precharges", "9", *SMALL[:2], "--speeds", "7", "--workers", "1"]
    assert answer(capsys, *words)["precharges_bar"] == [9.0]
