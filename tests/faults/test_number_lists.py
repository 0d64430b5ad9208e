"""Numbers to try may be given as first:last:count or as a list; a name of the library that sounds alike is found."""

import json

from called import refused
from every import every

from analysis.cli.main import main

LISTS = [
    (["window", "smooth", "--seeds", "1", "--pressures", "40", "--speeds"], "speeds_kmh", "8,10", [8.0, 10.0]),
    (["window", "smooth", "--seeds", "1", "--speeds", "8", "--pressures"], "pressures_bar", "50, 40", [40.0, 50.0]),
]


@every(("words", "key", "text", "values"), LISTS)
def test_a_list_of_settings_is_tried(words, key, text, values, capsys):
    assert main([*words, text, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)[key] == values


def test_a_list_is_taken_by_options_of_a_command_of_its_own(capsys):
    words = ["press", "smooth", "--seeds", "1", "--speeds", "8", "--notches=-1,0"]
    assert main([*words, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["notches"] == [-1, 0]


def test_a_file_takes_a_list_in_a_text_too(capsys, tmp_path):
    (tmp_path / "a.toml").write_text(
        'title = "A"\n[ground]\nlength_m = 10\nroughness = { class = "none" }\n'
        '[search]\nspeeds_kmh = "6,8"\npressures_bar = "40"\nseeds = 1\n'
    )
    assert main(["window", str(tmp_path / "a.toml"), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["speeds_kmh"] == [6.0, 8.0]


def test_a_step_given_as_a_count_is_not_taken_for_one_value(capsys):
    """6:12:1 meant as steps of 1 would try 6 km/h alone."""
    told = refused(capsys, "window", "rough", "--speeds", "6:12:1")
    assert "a count of 1 leaves 12 out" in told
    assert "not their step" in told


@every(("given", "name"), [("ruff", "rough"), ("smoth", "smooth"), ("gulley", "gully"), ("humps", "hump")])
def test_a_name_written_by_its_sound_is_found(given, name, capsys):
    assert f'try: "{name}"' in refused(capsys, "run", given)


def test_a_name_like_none_gets_none(capsys):
    for words in (["run", "xylophone"], ["level", "x.csv", "--unit", "xylophone"]):
        told = refused(capsys, *words)
        assert "rowbench library" in told
        assert 'try: "bank"' not in told
