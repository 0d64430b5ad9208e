"""The command line end to end on the library: what is asked for comes out, whole and in the agreed keys."""

import json
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from called import answer

from analysis.cli.main import main
from analysis.storage.run_table import load_run_table
from analysis.verify import checks as verify
from scenarios.format.library import library
from scenarios.load import load
from sim.record import CAUSES, PINS

NAMES = [entry.name for entry in library()]

RATE = {"per_km", "per_km_interval"}
RUN_KEYS = {
    "settings": {"oil_pressure_bar", "precharge_bar", "speed_kmh", "set_depth_mm", "downforce_kgf", "setting",
                 "depth_setting_change_mm"},
    "depth": {"mean_mm", "error_mean_mm", "error_sd_mm", "error_p05_mm", "error_p95_mm", "on_depth_share",
              "on_depth_share_unchanged_setting", "error_max_mm", "error_max_at_m", "error_min_mm", "error_min_at_m",
              "off_depth_at_one_place_m"},
    "causes": {*CAUSES, "sum_residual_mm"},
    "gauge_load": {"mean_N", "sd_N", "p05_N", "p95_N", "wheel_off_share", "wheel_off_at_one_place_m", "peak_N"},
    "press_load": {"mean_N", "sd_N"},
    "disc": {"rock_peak_N"},
    "wheel_off": {"episodes", *RATE, "length_share", "by_cause", "length_m_by_cause"},
    "breakouts": {"count", *RATE, "per_ha", "per_ha_interval", "list"},
    "pins": set(PINS),
    "gas": {"pressure_min_bar", "pressure_max_bar", "ran_out_of_oil"},
    "energy": {"work_J", "residual_J", "residual_share"},
    "run": {"steps", "step_s", "wall_s", "compile_s", "seed", "version"},
}  # fmt: skip
OTHER_RUN_KEYS = {"scenario", "distance_m", "pins_check", "warnings", "reasons", "engine"}
WINDOW_GRIDS = {
    "on_depth_share", "on_depth_share_unchanged_setting", "error_sd_mm", "depth_mean_mm", "wheel_off_share",
    "gauge_load_mean_N", "wheel_off_per_km", "breakouts_per_km", "pin_peak_N", "pressure_max_bar", "meets_limits",
    "precharge_share", "gas_squeeze", "error_max_mm", "error_min_mm", "too_deep_share", "too_shallow_share",
    "off_depth_at_one_place_m", "wheel_off_at_one_place_m", "gauge_load_peak_N",
}  # fmt: skip
WINDOW_KEYS = WINDOW_GRIDS | {
    "scenario", "pressures_bar", "speeds_kmh", "limits", "seeds", "by_seed", "reasons", "notes", "warnings", "pick",
    "headline", "nearest", "stones", "weight", "run", "chance_all_limits", "doubt", "matters_most",
    "scenario_warnings",
}  # fmt: skip


@pytest.fixture(autouse=True)
def empty_folder(tmp_path, monkeypatch):
    """Every test starts in an empty folder of its own, from which processes of Python find the sources too."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PYTHONPATH", str(Path(__file__).parents[2]))
    return tmp_path


@pytest.mark.parametrize("name", NAMES)
def test_run_gives_every_key_on_every_scenario_of_the_library(name, capsys):
    d = answer(capsys, "run", name)
    assert set(d) == set(RUN_KEYS) | OTHER_RUN_KEYS
    for key, inner in RUN_KEYS.items():
        assert set(d[key]) == inner, key
    for part in CAUSES:
        assert set(d["causes"][part]) == {"mean_mm", "sd_mm", "share_of_variance"}
    for load_ in d["pins"].values():
        assert set(load_) == {"peak_N", "rms_N", "mean_N"}
        assert load_["peak_N"] * (1 + 1e-12) >= load_["rms_N"] >= load_["mean_N"] * (1 - 1e-12) > 0.0
    shares = [d["causes"][part]["share_of_variance"] for part in CAUSES]
    if None in shares:
        assert set(shares) == {None}
        assert d["reasons"]["causes.*.share_of_variance"]
    else:
        assert sum(shares) == pytest.approx(1.0, abs=1e-9)
    assert d["causes"]["sum_residual_mm"] < 1e-6
    assert d["energy"]["residual_share"] <= 1e-4
    assert d["scenario"] == name
    scenario = load(name)
    assert d["distance_m"] == pytest.approx(scenario.length, abs=0.02)
    assert d["run"]["seed"] == scenario.seed


@pytest.mark.parametrize("name", ["hump", "stony"])
def test_run_tells_the_same_numbers_to_a_reader(name, capsys):
    d = answer(capsys, "run", name)
    assert main(["run", name, "--details"]) == 0
    text = " ".join(capsys.readouterr().out.split())
    for words in ("ground shape", "tyre and sinkage", "linkage", "toolbar pitch", "lift-off", "turnbuckle front",
                  "dry nitrogen", "no design loads", "slot, not of the seed"):  # fmt: skip
        assert words in text
    assert f"{d['depth']['on_depth_share'] * 100:.1f} % within ±10 mm" in text
    assert f"mean {round(d['gauge_load']['mean_N'], -1):.0f} N" in text  # three figures of some 1000 N
    assert f"{d['gas']['pressure_max_bar']:.1f} bar" in text
    peaks = d["pins"]["bell_crank"]
    assert f"bell crank {peaks['peak_N'] / 1e3:.2f} {peaks['rms_N'] / 1e3:.2f} {peaks['mean_N'] / 1e3:.2f}" in text
    if d["breakouts"]["count"]:
        assert f"{d['breakouts']['count']} breakout" in text


def test_options_take_the_place_of_the_file(capsys):
    d = answer(capsys, "run", "hump", "--pressure", "35", "--speed", "6.5", "--seed", "7")
    assert (d["settings"]["oil_pressure_bar"], d["settings"]["speed_kmh"], d["run"]["seed"]) == (35.0, 6.5, 7)
    assert d["settings"]["depth_setting_change_mm"] > 0.0  # less pressure, less squash: set deeper


def test_run_writes_figure_and_table(capsys, empty_folder):
    d = answer(capsys, "run", "hump", "--figure", "a.png", "--save", "a.h5")
    assert (empty_folder / "a.png").read_bytes().startswith(b"\x89PNG")
    table = load_run_table(empty_folder / "a.h5")
    assert table.summary["depth"] == d["depth"]
    assert np.hypot(*table.pins[:, PINS.index("crank"), :].T).max() == pytest.approx(
        d["pins"]["crank"]["peak_N"], rel=1e-3
    )
    assert sorted(path.name for path in empty_folder.iterdir()) == ["a.h5", "a.png"]


def test_run_on_measured_ground(capsys, empty_folder):
    x = np.arange(0.0, 45.0, 0.1)
    rows = "".join(f"{a:.2f},{0.02 * np.sin(2 * np.pi * a / 2.5):.5f}\n" for a in x)
    (empty_folder / "waves.csv").write_text("distance_m,height_m\n" + rows)
    d = answer(capsys, "run", "smooth", "--profile", "waves.csv")
    flat = answer(capsys, "run", "smooth")
    assert d["depth"]["error_sd_mm"] > 1.0 > flat["depth"]["error_sd_mm"]


def test_window_picks_on_a_small_grid(capsys, empty_folder):
    (empty_folder / "short.toml").write_text(
        'title = "Short"\n[ground]\nlength_m = 30\nroughness = { class = "C" }\n[search]\nseeds = 2\n'
    )
    words = ["window", "short.toml", "--pressures", "35:45:3", "--speeds", "6:8:2", "--pins", "--figure", "w.png"]
    d = answer(capsys, *words)
    assert set(d) == WINDOW_KEYS | {"pins"}
    assert d["pressures_bar"] == [35.0, 40.0, 45.0]
    assert d["speeds_kmh"] == [6.0, 8.0]
    for grid in WINDOW_GRIDS:
        assert np.shape(d[grid]) == (3, 2), grid
    assert (d["pick"] is None) != (d["nearest"] is None)
    found = d["pick"]
    assert found is not None
    assert {"oil_pressure_bar", "speed_kmh", "downforce_kgf", "depth_setting_change_mm", "why", "robustness"} <= set(
        found
    )
    i, j = d["pressures_bar"].index(found["oil_pressure_bar"]), d["speeds_kmh"].index(found["speed_kmh"])
    assert d["meets_limits"][i][j]
    assert not any(row[k] for row in d["meets_limits"] for k in range(j + 1, 2))
    assert set(d["pins"]) == set(PINS)
    assert (empty_folder / "w.png").read_bytes().startswith(b"\x89PNG")

    assert found["set_depth_mm"] == 40.0
    assert main(words[:-2]) == 0
    text = capsys.readouterr().out
    order = ["Highest pin load", "What to set", "How sure", "Not checked"]
    places = [text.index(f"\n{head}") for head in order[1:]]
    assert text.startswith(order[0])
    assert places == sorted(places)
    assert "All cautions" not in text
    assert "set depth       40 mm" in text
    assert main([*words[:-2], "--details"]) == 0
    text, err = capsys.readouterr()
    order = ["What to set", "Why", "", "How sure", "Stones", "Weight", "Cautions"]
    order[2] = next(head for head in ("What it buys", "Beside the present setting") if f"\n{head}" in text)
    assert text.startswith("Highest pin load")
    places = [text.index(f"\n{head}") for head in order]
    assert places == sorted(places)
    assert f"{found['oil_pressure_bar']:.0f} bar = {found['downforce_kgf']:.0f} kgf a row" in text
    assert "precharge 24 bar at 20 °C" in text
    assert "hectares an hour" in text
    assert "not checked" in text.lower()
    assert "crossings: 12 of 12" in err


def test_window_says_what_would_help_where_nothing_meets_all_limits(capsys, empty_folder):
    (empty_folder / "hard.toml").write_text(
        'title = "Strict"\n[ground]\nlength_m = 20\nroughness = { class = "D" }\n[limits]\non_depth_share_min = 1.0\n'
    )
    words = ["window", "hard.toml", "--pressures", "50:60:2", "--speeds", "9:10:2", "--seeds", "1"]
    d = answer(capsys, *words)
    assert d["pick"] is None
    assert "on_depth_share_min" in d["nearest"]["fails"]
    assert main(words) == 0
    text = capsys.readouterr().out
    assert text.index("No setting to use") < text.index("What would help") < text.index("Fails least (not to be set)")
    assert "None of those tried meets every limit, so none is to be set" in text
    assert "What to set" not in text
    assert d["headline"] == "No setting to use: none of those tried meets every limit"


def test_library_lists_what_there_is(capsys):
    d = answer(capsys, "library")
    assert [entry["name"] for entry in d["scenarios"]] == NAMES
    assert len(NAMES) >= 5
    assert all(entry["shows"] for entry in d["scenarios"])
    assert {entry["name"] for entry in d["soils"]} >= {"firm"}
    assert main(["library"]) == 0
    text = " ".join(capsys.readouterr().out.split())
    for entry in (*d["scenarios"], *d["units"], *d["soils"]):
        assert entry["name"] in text
        assert entry["title"] in text


def test_new_writes_a_file_that_runs_with_all_defaults(capsys, empty_folder):
    assert answer(capsys, "new", "field") == {"written": "field.toml"}
    made = load("field.toml")
    plain = load("rough")
    assert (made.unit, made.settings, made.limits, made.soil) == (plain.unit, plain.settings, plain.limits, plain.soil)
    text = (empty_folder / "field.toml").read_text(encoding="utf-8").replace("length_m = 300", "length_m = 20")
    (empty_folder / "field.toml").write_text(text, encoding="utf-8")
    assert answer(capsys, "run", "field.toml")["distance_m"] == pytest.approx(20.0, abs=0.02)


def test_draw_shows_the_unit(capsys, empty_folder):
    d = answer(capsys, "draw", "hump", "--figure", "unit.svg")
    assert d["points_from_O_m"]["O"] == [0.0, 0.0]
    text = (empty_folder / "unit.svg").read_text()
    for word in ("gauge wheel", "turnbuckle", "θ"):
        assert word in text
    assert main(["draw", "hump"]) == 0
    assert "gauge axle" in capsys.readouterr().out


def test_verify_checks_its_numbers_and_says_so(capsys, empty_folder, monkeypatch):
    (empty_folder / "short.toml").write_text('title = "Short"\n[ground]\nlength_m = 6\nroughness = { class = "C" }\n')
    d = answer(capsys, "verify", "short.toml", "--figure", "v.png")
    assert d["passed"]
    assert len(d["checks"]) >= 10
    assert all({"check", "value", "bound", "passed"} <= set(check) for check in d["checks"])
    assert (empty_folder / "v.png").read_bytes().startswith(b"\x89PNG")
    failing = verify.Check("made_up", "made up", 2.0, "", 1.0)
    result = verify.VerifyResult("short", "Short", 0.004, (failing,), 1.0)
    monkeypatch.setattr("analysis.cli.verify.verify_scenario", lambda *_args, **_options: result)
    assert main(["verify", "short.toml"]) == 1
    text = capsys.readouterr().out
    assert text.count("FAIL ") == 1
    assert "At least one check FAILED" in text


def test_verify_without_a_file_checks_the_whole_library(capsys, monkeypatch):
    seen = []

    def checked(scenario, **_options):
        seen.append(scenario.name)
        bound = 0.5 if scenario.name == "stony" else 2.0
        return verify.VerifyResult(
            scenario.name, scenario.title, 0.004, (verify.Check("one", "one", 1.0, "", bound),), 1.0
        )

    monkeypatch.setattr("analysis.cli.verify.verify_scenario", checked)
    assert main(["verify"]) == 1
    assert seen == [entry.name for entry in library("scenario")]
    assert "At least one check FAILED in stony:" in capsys.readouterr().out
    assert main(["verify", "--json"]) == 1
    d = json.loads(capsys.readouterr().out)
    assert not d["passed"]
    assert [one["scenario"] for one in d["scenarios"] if not one["passed"]] == ["stony"]
    assert main(["verify", "--figure", "all.png"]) == 2


def test_the_second_engine_crosses_the_same_ground(capsys, empty_folder):
    (empty_folder / "short.toml").write_text('title = "Short"\n[ground]\nlength_m = 5\nroughness = { class = "C" }\n')
    words = ("run", "short.toml", "--speed", "16", "--engine")
    first, second = (answer(capsys, *words, name) for name in ("compiled", "rigid"))
    assert (first["engine"], second["engine"]) == ("compiled", "rigid")
    assert second["depth"]["error_sd_mm"] == pytest.approx(first["depth"]["error_sd_mm"], rel=0.01)
    assert set(second) == set(first)


def test_a_second_call_gives_the_same_numbers(capsys):
    first, second = (answer(capsys, "run", "hump") for _ in range(2))
    for d in (first, second):
        del d["run"]["wall_s"], d["run"]["compile_s"]
    assert first == second


def command(*words):
    return subprocess.run(
        [sys.executable, "-m", "analysis.cli.main", *words], capture_output=True, text=True, check=False, timeout=120
    )


def test_version_answers_at_once_and_loads_nothing_heavy():
    code = (
        "import sys; from analysis.cli.main import main; main(['--version']); "
        "print(*sorted({'numba', 'numpy', 'pydantic', 'matplotlib', 'h5py', 'scipy'} & set(sys.modules)))"
    )
    taken = []
    for _ in range(3):
        begin = time.perf_counter()
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
        taken.append(time.perf_counter() - begin)
    assert min(taken) < 1.0
    version, loaded = done.stdout.split("\n")[:2]
    assert version.startswith("rowbench ")
    assert loaded == ""


def test_the_program_as_users_start_it(empty_folder, capsys):
    answer(capsys, "run", "smooth")  # compiled by now
    done = command("run", "smooth", "--json")
    assert done.returncode == 0
    assert json.loads(done.stdout)["depth"]["on_depth_share"] == 1.0
    assert "compiling" not in done.stderr
    wrong = command("run", "smoth", "--save", "a.h5")
    assert (wrong.returncode, wrong.stdout) == (2, "")
    assert '"smooth"' in wrong.stderr
    assert "Traceback" not in wrong.stderr
    assert list(empty_folder.iterdir()) == []
