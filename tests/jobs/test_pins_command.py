"""`rowbench pins` as a builder and a farmer would use it: screen, JSON, faults, a stored result, its figure."""

from __future__ import annotations

import json
import re

import pytest

from analysis.cli.main import main
from sim.record import PINS

FIELD = """title = "Mine"
[ground]
length_m = 40
roughness = { class = "D" }
[search]
pressures_bar = [35, 45]
speeds_kmh = [7]
[machine]
rows = 36
row_spacing_m = 0.333
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("pins")
    (made / "mine.toml").write_text(FIELD, encoding="utf-8")
    (made / "wide.toml").write_text(f"{FIELD}[unit.pins.main]\nspan_mm = 240\n", encoding="utf-8")
    weak = '[unit.pins.main]\nmaterial = "sintered_bronze"\nlength_mm = 8\n'
    (made / "weak.toml").write_text(f"{FIELD}{weak}", encoding="utf-8")
    return made


@pytest.fixture
def here(folder, monkeypatch):
    monkeypatch.chdir(folder)
    return folder


def said(capsys, *words):
    assert main(["pins", *words]) == 0
    return capsys.readouterr().out


def document(capsys, *words):
    return json.loads(said(capsys, *words, "--json"))


def test_first_what_wears_out_first_then_all_pins_then_how_sure(capsys, here):
    text = said(capsys, "mine.toml")
    order = ["Wears out first:", "Common practice:", "main upper front", "press arm", "How sure:", "No design loads"]
    places = [text.index(word) for word in order]
    assert places == sorted(places)
    assert "7 to 10 years on a broadacre farm" in " ".join(text.split())
    assert all(len(line) <= 80 for line in text.splitlines())
    rows = [line for line in text.splitlines() if re.match(r"^[a-z]+ ?[a-z]* ?[a-z]* +\d", line)]
    assert len(rows) == len(PINS)  # the table stands as a table on 80 columns
    assert "seed" not in text.replace("seeding", "")


def test_the_document_holds_what_the_screen_says(capsys, here):
    d = document(capsys, "mine.toml", "--hectares-a-year", "3000")
    assert list(d["pins"]) == list(PINS)
    first = d["pins"][d["wears_out_first"]]
    low, high = first["life_years"]
    assert first["life_ha"] == pytest.approx([low * 3000, high * 3000])
    wear = first["wear_m_per_1000_ha"]
    assert [0.001 / (wear[1] * 3.0), 0.001 / (wear[0] * 3.0)] == pytest.approx([low, high])
    assert d["year"]["travel_m"] == pytest.approx(3000 * 1e4 / (36 * 0.333))
    assert d["pins"]["crank"]["life_years"] is None
    middle = (low * high) ** 0.5
    text = " ".join(said(capsys, "mine.toml", "--hectares-a-year", "3000").split())
    assert f"{float(f'{middle:.2g}'):g} years" in text


def test_twice_the_span_shows_in_the_couple_alone(capsys, here):
    near, far = (document(capsys, name)["pins"]["main_lower_front"] for name in ("mine.toml", "wide.toml"))
    assert far["bush_couple_mean_N"] == pytest.approx(0.5 * near["bush_couple_mean_N"])
    assert far["bush_in_plane_mean_N"] == pytest.approx(near["bush_in_plane_mean_N"])
    assert far["life_years"][0] > near["life_years"][0]


def test_a_pin_asked_for_more_than_it_bears_is_told_before_its_years(capsys, here):
    text = said(capsys, "weak.toml")
    assert text.index("Asked for more than it bears") < text.index("Wears out first")
    assert "P!" in text


def test_one_pin_in_full_by_its_spoken_name(capsys, here):
    text = said(capsys, "mine.toml", "--pin", "press arm", "--width", "6")
    assert "Press arm: pin of 25 mm" in text
    assert " on 6 m" in text
    assert document(capsys, "mine.toml", "--pin", "press_arm")["told"]["pin"] == "press_arm"


def test_ground_that_is_no_field_and_hours_of_no_farm_are_told_first(capsys, here):
    assert "This ground is no field" in said(capsys, "hump").split("Wears out first")[0]
    busy = said(capsys, "mine.toml", "--width", "2", "--hectares-a-year", "3000").split("Wears out first")[0]
    assert "--width M says another" in " ".join(busy.split())


def test_a_stored_run_gives_the_same_and_a_figure(capsys, here):
    assert main(["run", "mine.toml", "--save", "run.h5"]) == 0
    capsys.readouterr()
    plain = document(capsys, "mine.toml")
    again = document(capsys, "run.h5", "--figure", "life.png")
    assert again["pins"] == plain["pins"]
    assert (here / "life.png").read_bytes().startswith(b"\x89PNG")
    assert main(["pins", "mine.toml", "--pin", "crank", "--figure", "crank.svg"]) == 0
    assert (here / "crank.svg").read_bytes().startswith(b"<?xml")


def test_all_faults_at_once(capsys, here):
    words = ["pins", "mine.toml", "--pin", "knee", "--hectares-a-year", "0", "--width", "x", "--pressure", "900"]
    assert main(words) == 2
    err = capsys.readouterr().err
    for option in ("--pin", "--hectares-a-year", "--width", "--pressure"):
        assert option in err
    assert main(["pins"]) == 2
    assert "no FILE" in capsys.readouterr().err


def test_other_settings_of_one_pin_over_several_grounds(capsys, here):
    words = ("mine.toml", "--seeds", "3", "--pressures", "35,55", "--speeds", "5,9", "--pin", "main lower front")
    text = said(capsys, *words)
    assert "grounds 1–3" in text
    assert "Main lower front at other settings" in text
    assert "of such ground's mean" in " ".join(text.split())
    d = document(capsys, *words)
    assert (d["crossed"]["runs"], d["crossed"]["seeds"]) == (3, [1, 2, 3])
    tried = d["tried"]["settings"]
    assert [(t["oil_pressure_bar"], round(t["speed_kmh"], 6)) for t in tried] == [(35, 5), (55, 5), (35, 9), (55, 9)]
    own = document(capsys, "mine.toml", "--seeds", "3", "--pressure", "55", "--speed", "9")
    pin = own["pins"]["main_lower_front"]
    assert tried[3]["peak_N"] == pytest.approx(pin["peak_N"])
    assert tried[3]["life_years"] == pytest.approx(pin["life_years"])
    alone = document(capsys, *words, "--workers", "1")
    assert alone == d


def test_how_often_stones_pass_a_load_by_contact_stiffness(capsys, here):
    (here / "stones.toml").write_text(f"{FIELD}[stones]\nrate_per_100m = 40\n", encoding="utf-8")
    text = said(capsys, "stones.toml")
    assert "strikes in 40 m" in text
    assert "--pin-limit KN" in text
    told = said(capsys, "stones.toml", "--pin-limit", "10")
    assert "Stones that bring more than 10 kN on the most loaded pin" in told
    assert "--pin-limit" not in told
    d = document(capsys, "stones.toml", "--pin-limit", "10")
    passing = d["stones"]["passing"]
    assert [p["contact_stiffness_N_per_m"] for p in passing] == [0.3e6, 0.6e6, 1.2e6]
    assert passing[0]["strikes"] > 100  # several grounds, not the one of 40 m
    assert passing[0]["expected_per_ha"] < passing[2]["expected_per_ha"]
    assert all(p["low_95_per_ha"] <= p["expected_per_ha"] <= p["high_95_per_ha"] for p in passing)
    assert "stones" not in document(capsys, "mine.toml", "--pin-limit", "10")


PADDOCK = """title = "Two passes"
[machine]
rows = 6
row_spacing_m = 0.5
[passes]
count = 3
length_m = 30
[ground]
roughness = { class = "D" }
"""


def test_rows_that_stand_for_a_paddock(capsys, here):
    (here / "paddock.toml").write_text(PADDOCK, encoding="utf-8")
    text = said(capsys, "paddock.toml", "--speed", "7")
    assert "4 of 6 rows on 3 of 3 passes, 40 bar, 7 km/h" in " ".join(text.split())
    d = document(capsys, "paddock.toml", "--speed", "7")
    assert d["crossed"]["runs"] == 12
    assert d["crossed"]["length_m"] == pytest.approx(360.0, rel=0.01)
    assert d["year"]["working_width_m"] == pytest.approx(3.0)
    assert document(capsys, "paddock.toml", "--speed", "7", "--workers", "1") == d
    assert document(capsys, "paddock.toml", "--speed", "7", "--pressure", "60") != d


def test_what_a_paddock_has_no_use_for_is_told_at_once(capsys, here):
    (here / "paddock.toml").write_text(PADDOCK, encoding="utf-8")
    assert main(["pins", "paddock.toml", "--pressures", "40,50", "--seeds", "2", "--figure", "x.png"]) == 2
    err = capsys.readouterr().err
    for option in ("--pressures", "--seeds", "--figure"):
        assert f"{option}: given with a paddock" in err
    assert not (here / "x.png").exists()
