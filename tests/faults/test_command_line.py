"""Bad input at the command line: exit 2, one message with every fault, no traceback, nothing left behind."""

import json
import os
import subprocess
import sys
from contextlib import nullcontext
from pathlib import Path

import pytest
from called import refused
from called import text as said
from every import every

from analysis.cli.main import main
from analysis.storage.safe_write import output_fault, replacing
from scenarios.format.errors import ScenarioError
from scenarios.format.library import library
from scenarios.load import load
from scenarios.paddock.load import load_paddock
from sim.errors import RunError

ROOT = Path(__file__).parents[2]


@pytest.fixture(autouse=True)
def empty_folder(tmp_path, monkeypatch):
    """Every test starts in an empty folder of its own."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture(autouse=True)
def no_word_about_compiling(monkeypatch):
    """Standard error holds the faults only, whether or not the model has been compiled before."""
    monkeypatch.setattr("analysis.cli.main.watched", lambda watcher: nullcontext())


def test_an_unknown_name_gets_the_closest(capsys):
    text = refused(capsys, "run", "ruogh")
    assert 'given "ruogh"' in text
    assert 'try: "rough"' in text
    assert "stony" in text


def test_a_missing_file_is_told_with_its_path(capsys):
    assert "no/such/field.toml" in refused(capsys, "window", "no/such/field.toml")


def test_a_missing_profile_is_told(capsys):
    assert "ground.csv: there is no such file" in refused(capsys, "run", "rough", "--profile", "ground.csv")


@every(
    ("given", "said"),
    [
        ("a:b:c", "not of the form"),
        ("30:90", "not of the form"),
        ("90:30:4", "not above the first"),
        ("30:90:0", "between 1 and 1000"),
        ("30:900:4", "1 to 250 bar"),
        ("nan", "given nan"),
        ("", "not of the form"),
    ],
)
def test_pressures_that_make_no_list(given, said, capsys):
    text = refused(capsys, "window", "rough", "--pressures", given)
    assert "--pressures: given" in text
    assert said in text


@every(
    "words",
    [
        ["run", "rough", "--pressure", "x"],
        ["run", "rough", "--pressure", "0"],
        ["run", "rough", "--pressure", "inf"],
        ["run", "rough", "--speed", "-3"],
        ["run", "rough", "--seed", "1.5"],
        ["run", "rough", "--seed", "-1"],
        ["window", "rough", "--seeds", "0"],
        ["window", "rough", "--workers", "0"],
        ["window", "rough", "--workers", "many"],
        ["window", "rough", "--speeds", "5:31:3"],
        ["run", "rough", "--engine", "rigit"],
    ],
)
def test_a_bad_value_names_its_option_and_what_is_allowed(words, capsys):
    text = refused(capsys, *words)
    assert f"{words[2]}: given" in text
    assert "allowed:" in text
    assert "try:" in text


def test_all_faults_come_in_one_message(capsys, empty_folder):
    (empty_folder / "bad.toml").write_text('title = "Bad"\n[settings]\nspeed = 8\n[ground]\nlength_m = "far"\n')
    text = refused(
        capsys,
        "run",
        "bad.toml",
        "--pressure",
        "999",
        "--seed",
        "x",
        "--figure",
        "no/a.png",
        "--save",
        "a.txt",
        "--sped",
        "8",
    )
    assert "7 faults:" in text
    for part in ("--sped; allowed", "--speed", "--pressure: given 999", "--seed", "no folder", ".h5 or .hdf5",
                 "settings.speed", '"speed_kmh"', "ground.length_m"):  # fmt: skip
        assert part in text
    assert [path.name for path in empty_folder.iterdir()] == ["bad.toml"]


@every(
    ("words", "said"),
    [
        ([], None),
        (["run"], "no FILE"),
        (["window"], "no FILE"),
        (["new"], "no NAME"),
        (["rnu", "rough"], 'no command "rnu"; allowed: run, window'),
        (["run", "rough", "hump"], 'given "hump" too'),
        (["library", "--pressure", "3"], "unknown option --pressure"),
        (["run", "rough", "--pressure"], "rowbench run --pressure: no value given; allowed: a value behind it; try: "),
        (["--json"], "unrecognized|no command"),
    ],
)
def test_a_command_line_that_is_none(words, said, capsys):
    capsys.readouterr()  # what stood there before
    assert main(words) == 2
    out, err = capsys.readouterr()
    assert "Traceback" not in err
    if said:
        assert any(part in err for part in said.split("|"))
        assert out == ""
    else:
        assert "COMMAND" in out


@every("words", [["run", "rough", "--save", "no/a.h5"], ["window", "rough", "--figure", "no/a.png"]])
def test_the_output_folder_is_looked_at_before_anything_is_computed(words, capsys, monkeypatch):
    for march in ("warm_up", "warm_up_rows"):
        monkeypatch.setattr(f"analysis.cli.parts.warmup.{march}", lambda: pytest.fail("computed first"))
    assert "no folder" in refused(capsys, *words)


def test_a_folder_or_another_kind_of_file_is_no_place_for_a_figure(capsys, empty_folder):
    (empty_folder / "plots.png").mkdir()
    assert "which is a folder" in refused(capsys, "run", "hump", "--figure", "plots.png")
    assert ".png or .svg or .pdf" in refused(capsys, "run", "hump", "--figure", "plot.bmp")


@pytest.mark.skipif(not os.path.isdir("/proc/self"), reason="needs a folder that nobody can write in")
def test_a_folder_that_cannot_be_written_is_told(capsys):
    assert "nothing can be written in" in refused(capsys, "run", "hump", "--figure", "/proc/self/a.png")


def test_new_does_not_write_over_a_file(capsys, empty_folder):
    (empty_folder / "field.toml").write_text("mine")
    text = refused(capsys, "new", "field")
    assert "there already" in text
    assert (empty_folder / "field.toml").read_text() == "mine"
    assert len(list(empty_folder.iterdir())) == 1
    assert "no folder" in refused(capsys, "new", "nowhere/field")


def test_a_file_of_zeros_is_no_scenario(capsys, empty_folder):
    (empty_folder / "zeros.toml").write_bytes(bytes(2000))
    assert "zeros.toml" in refused(capsys, "run", "zeros.toml")


def test_a_run_that_cannot_be_finished_is_told_and_leaves_nothing(capsys, monkeypatch, empty_folder):
    def fails(*_args, **_options):
        raise RunError("the motion did not stay finite at 1.0 s")

    monkeypatch.setattr("analysis.cli.run.simulate", fails)
    monkeypatch.setattr("analysis.cli.parts.warmup.warm_up", lambda: 0.0)
    text = refused(capsys, "run", "hump", "--save", "a.h5", "--figure", "a.png")
    assert "did not stay finite" in text
    assert "hump.toml" in text
    assert list(empty_folder.iterdir()) == []


@every("words", [["verify", ""], ["verify", "", "--full"], ["explain", "smooth", "--figures", ""]])
def test_an_empty_name_stands_for_nothing_else(words, capsys, empty_folder):
    """As from a shell's variable that is not set: neither the whole library nor the folder one stands in is meant."""
    text = refused(capsys, *words)
    assert "no FILE" in text or '--figures: given ""' in text
    assert list(empty_folder.iterdir()) == []


@every("name", [".", "..", "/", "../", "there/", "there/.", "there/..", "../.."])
@every("words", [["new"], ["paddock", "--new"]])
def test_a_folder_is_no_name_for_a_new_file(words, name, capsys, empty_folder):
    (empty_folder / "there").mkdir(exist_ok=True)
    assert "which is a folder; allowed: a name for a new file" in refused(capsys, words[0], name, *words[1:])
    assert [path.name for path in empty_folder.iterdir()] == ["there"]


@every("words", [
    ["level", "digs.csv", "--wanted=--"], ["press", "smooth", "--seeds=--"], ["run", "smooth", "--pressure=--"],
    ["run", "smooth", "--seed=--"], ["run", "smooth", "--save=--"], ["window", "smooth", "--pressures=--"],
    ["window", "smooth", "--workers=--"], ["paddock", "two_soils", "--out=--"], ["explain", "smooth", "--figures=--/x"],
    ["run", "smooth", "--profile=--"], ["run", "smooth", "--engine=--"], ["draw", "smooth", "--figure=--"],
])  # fmt: skip
def test_two_dashes_are_a_value_like_any_other(words, capsys, empty_folder):
    """Python 3.11 hands on an empty list for it."""
    (empty_folder / "digs.csv").write_text("row,depth_mm\n" + "".join(f"{r},4{d}\n" for r in (1, 2) for d in range(4)))
    text = refused(capsys, *words)
    assert "--" in text
    assert [path.name for path in empty_folder.iterdir()] == ["digs.csv"]


BYTES = os.fsdecode(b"bad\xff")  # a file's name that is no text, as an old disk or archive brings along
SHORT = 'title = "S"\n[ground]\nlength_m = 10\n[search]\npressures_bar = [40]\nspeeds_kmh = [8]\nseeds = 1\n'
SMALL = 'title = "S"\n[passes]\nlength_m = 12\ncount = 1\n[machine]\nrows = 2\n'


@pytest.mark.skipif(sys.platform != "linux", reason="other systems keep no such name")
@every(("words", "text", "written"), [
    (["new", BYTES], None, f"{BYTES}.toml"), (["paddock", BYTES, "--new"], None, f"{BYTES}.toml"),
    (["report", f"{BYTES}.toml", "--out", "a.html"], SHORT, "a.html"),
    (["paddock", f"{BYTES}.toml", "--pass", "1", "--row", "1", "--out", "row.toml"], SMALL, "row.toml"),
])  # fmt: skip
def test_a_name_that_is_no_text_is_written_with_question_marks(words, text, written, capsys, empty_folder):
    place = empty_folder / f"{BYTES}.toml"
    place.unlink(missing_ok=True)
    if text is not None:
        place.write_text(text, encoding="utf-8")
    said(capsys, *words)
    assert "bad?" in (empty_folder / written).read_text(encoding="utf-8")


# where a command computes
PLACES = [
    ("run", "analysis.cli.run.simulate"),
    ("draw", "analysis.cli.draw.prepare"),
    ("verify", "analysis.cli.verify.verify_scenario"),
    ("pressures", "analysis.cli.pressures.chart"),
    ("press", "analysis.cli.press.press_wheel"),
]


@every("mistake", [TypeError, KeyError, IndexError, AttributeError, AssertionError, RuntimeError])
@every(("command", "place"), [*PLACES, ("disc", "analysis.cli.disc.simulate")])
def test_a_mistake_of_the_program_is_not_told_as_bad_input(command, place, mistake, monkeypatch):
    def wrong(*_args, **_options):
        raise mistake("a mistake")

    with monkeypatch.context() as patched:
        patched.setattr(place, wrong)
        patched.setattr("analysis.cli.parts.warmup.warm_up", lambda: 0.0)
        with pytest.raises(mistake, match="a mistake"):
            main([command, "smooth"])


@every(("command", "place"), PLACES)
def test_a_crossing_that_fails_is_told_by_its_file(command, place, monkeypatch, capsys):
    def fails(*_args, **_options):
        raise RunError("the motion did not stay finite at 1.0 s")

    with monkeypatch.context() as patched:
        patched.setattr(place, fails)
        patched.setattr("analysis.cli.parts.warmup.warm_up", lambda: 0.0)
        assert "smooth.toml: the motion did not stay finite" in refused(capsys, command, "smooth")


def test_a_linkage_that_cannot_be_closed_is_told_with_part_and_angle(capsys, empty_folder):
    (empty_folder / "open.toml").write_text(
        'title = "Open"\n[ground]\nlength_m = 10\n[unit.depth_linkage]\nturnbuckle_m = 0.9\n'
    )
    text = refused(capsys, "run", "open.toml")
    assert "turnbuckle" in text
    assert "angle" in text


UNSET = SHORT.replace("[search]", "[unit.gauge_wheel]\nradius_m = 0.5\nwidth_m = 0.02\n[search]")


@every("words", [["run"], ["report", "--out", "a.html"], ["explain"], ["verify"]])
def test_a_unit_that_cannot_be_set_is_told_by_what_crosses_ground(words, capsys, empty_folder):
    (empty_folder / "unset.toml").write_text(UNSET, encoding="utf-8")
    assert main([words[0], "unset.toml", *words[1:]]) == 2
    out, text = capsys.readouterr()
    assert out == ""
    assert "unset.toml: depth 40 mm cannot be set: no crank angle brings the gauge wheel to the ground" in text
    assert "; allowed: " in text
    assert "; try: settings.set_depth_mm" in text
    assert [path.name for path in empty_folder.iterdir()] == ["unset.toml"]


@every("friction", ["0", "0.0", "1e-300"])
@every("more", [[], ["--json"], ["--figure", "d.png"]])
def test_a_disc_that_nothing_turns_is_told(friction, more, capsys, empty_folder):
    (empty_folder / "slick.toml").write_text(f"{SHORT}[unit.disc]\nface_friction = {friction}\n", encoding="utf-8")
    text = refused(capsys, "disc", "slick.toml", *more)
    assert "slick.toml: unit.disc.face_friction: given" in text
    assert "try: unit.disc.face_friction = 0.3" in text
    assert [path.name for path in empty_folder.iterdir()] == ["slick.toml"]


def test_ctrl_c_ends_with_130_and_leaves_nothing(capsys, monkeypatch, empty_folder):
    def interrupted(*_args, **_options):
        raise KeyboardInterrupt

    monkeypatch.setattr("analysis.crossing.figure_crossing.crossing_figure", interrupted)
    assert main(["run", "smooth", "--save", "a.h5", "--figure", "a.png"]) == 130
    out, err = capsys.readouterr()
    assert out == ""
    assert "stopped" in err
    assert list(empty_folder.iterdir()) == []


def test_a_file_appears_whole_or_not_at_all(empty_folder):
    path = empty_folder / "a.png"
    path.write_text("old")
    with pytest.raises(RuntimeError), replacing(path) as place:
        raise RuntimeError(place.write_text("half"))
    assert path.read_text() == "old"
    with replacing(path) as place:
        place.write_text("new")
        assert path.read_text() == "old"
    assert path.read_text() == "new"
    with pytest.raises(FileExistsError), replacing(path, keep_existing=True) as place:
        place.write_text("newer")
    assert path.read_text() == "new"
    assert [p.name for p in empty_folder.iterdir()] == ["a.png"]
    assert output_fault(path, "--figure", (".png",)) is None
    assert [p.name for p in empty_folder.iterdir()] == ["a.png"]


def test_a_reader_that_goes_away_is_no_error():
    code = "from analysis.cli.main import main; import sys; sys.exit(main(['library', '--json']))"
    with subprocess.Popen(
        [sys.executable, "-c", code],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    ) as process:
        process.stdout.close()
        err = process.stderr.read()
    assert err == b""
    assert process.returncode == 0


def test_the_library_itself_has_no_faults():
    """Nothing is told of any scenario or paddock, but for what `coarse_log` is there to show."""
    told = {entry.name: load(entry.name).warnings for entry in library()}
    told |= {entry.name: load_paddock(entry.name).warnings for entry in library("paddock")}
    assert len(told) > 14
    made_up, left_out = told.pop("coarse_log")
    assert "length_m = 300 measures" in left_out
    assert "made-up roughness" in made_up
    assert {name: warnings for name, warnings in told.items() if warnings} == {}


@every(
    "words", [["run", "rough", "--pressure=--"], ["window", "rough", "--seeds=--"], ["draw", "rough", "--figure=--"]]
)
def test_two_dashes_as_a_value(words, capsys):
    text = refused(capsys, *words)
    assert "allowed:" in text
    assert "try:" in text


@every("name", [".", "..", "/", "./", "../.."])
def test_a_new_file_is_no_folder(name, capsys, empty_folder):
    for words in (["new", name], ["paddock", "--new", name]):
        text = refused(capsys, *words)
        assert "which is a folder; allowed: a name for a new file; try: " in text
    assert list(empty_folder.iterdir()) == []


def test_points_a_millimetre_apart_are_taken(empty_folder):
    rows = "".join(f"{i / 1000:.3f},0\n" for i in range(8000))
    (empty_folder / "dense.csv").write_text(f"distance_m,height_m\n{rows}")
    assert load("hump", profile=empty_folder / "dense.csv").length > 7
    (empty_folder / "dense.csv").write_text("distance_m,height_m\n0,0\n0.0009,0\n" + rows[10:])
    with pytest.raises(ScenarioError, match="rise by at least"):
        load("hump", profile=empty_folder / "dense.csv")


def test_a_name_that_would_steer_a_terminal_is_shown_by_its_signs(empty_folder, capsys):
    """The file is written as it was asked for; what is told of it holds no escape."""
    name = "\x1b[31mred.toml"
    assert main(["new", name]) == 0
    told = capsys.readouterr().out
    assert "\x1b" not in told
    assert "\\x1b[31mred.toml written" in told
    assert (empty_folder / name).exists()
    assert main(["library", "--json"]) == 0
    json.loads(capsys.readouterr().out)
