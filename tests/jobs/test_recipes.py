"""How to add a law, a feature, a command, a figure: the contributor's guide, carried out on a copy of the sources."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

import pytest

ROOT = Path(__file__).parents[2]
BLOCK = r"```\w+\n(.*?)```\n"
STEP = re.compile(rf"<!-- recipe: (\w+), (\S+): (new|replace) -->\n{BLOCK}(?:(?<=```\n){BLOCK})?", re.S)
INSTANT = "tests/physics/test_second_engine_instant.py"
UNITS = "tests/support/crooked.py"


class Step(NamedTuple):
    """One block of a recipe: a new file, or text of a file and what takes its place."""

    recipe: str
    file: str
    kind: str
    first: str
    second: str


STEPS = [Step(*found) for found in STEP.findall((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"))]


def carried_out(recipe: str, folder: Path) -> Path:
    """The three packages once more in a folder, with a recipe carried out on them."""
    for package in ("sim", "scenarios", "analysis"):
        shutil.copytree(ROOT / package, folder / package, ignore=shutil.ignore_patterns("__pycache__"))
    steps = [step for step in STEPS if step.recipe == recipe]
    assert steps, recipe
    assert len({step.file for step in steps}) <= 3
    for step in steps:
        file = folder / step.file
        if step.kind == "new":
            assert not file.exists()
            file.write_text(step.first, encoding="utf-8")
        else:
            text = file.read_text(encoding="utf-8")
            assert text.count(step.first) == 1, f"{step.file} no longer holds: {step.first}"
            file.write_text(text.replace(step.first, step.second), encoding="utf-8")
    return folder


def python(folder: Path, *words: str, plain: bool = False) -> str:
    """What Python prints in that folder; plain: nothing is compiled."""
    paths = os.pathsep.join([str(folder), str(folder / "tests" / "support")])
    env = {**os.environ, "PYTHONPATH": paths, **({"NUMBA_DISABLE_JIT": "1"} if plain else {})}
    done = subprocess.run(
        [sys.executable, "-B", *words], capture_output=True, text=True, encoding="utf-8", cwd=folder, env=env,
        check=False, timeout=300,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def test_all_recipes_are_read():
    assert {step.recipe for step in STEPS} == {"law", "feature", "command", "figure"}
    for step in STEPS:
        assert bool(step.second) == (step.kind == "replace"), step


def test_a_law_of_its_own_holds_in_both_engines(tmp_path):
    """Both engines still agree at any instant, and carry a tenth more than before."""
    folder = carried_out("law", tmp_path)
    for file in (INSTANT, UNITS):
        (folder / file).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / file, folder / file)
    said = python(folder, "-m", "pytest", "-q", "-p", "no:cacheprovider", "--rootdir", str(folder), INSTANT, plain=True)
    assert " passed" in said
    code = "import sim.laws.wheel_soil as law, sim.unit; print(law.soil_constants(sim.unit.Soil(), 0.1, 0.2)[0])"
    before, after = float(python(ROOT, "-c", code)), float(python(folder, "-c", code))
    assert after == pytest.approx(1.1 * before)


def test_a_ground_feature_is_in_files_starter_and_ground(tmp_path):
    folder = carried_out("feature", tmp_path)
    text = 'title = "Furrow"\n[ground]\nlength_m = 40\n[[ground.features]]\nkind = "furrow"\n'
    text += "at_m = 20\ndepth_mm = 60\nwidth_m = 1\n"
    (folder / "furrow.toml").write_text(text, encoding="utf-8")
    code = "from scenarios.load import load; t = load('furrow.toml').track(); n = t.ground.argmin(); "
    low, place = map(float, python(folder, "-c", f"{code}print(t.ground[n], t.x[n] - t.x_from)").split())
    assert (low, place) == (pytest.approx(-0.06, abs=1e-6), pytest.approx(20.0, abs=0.01))
    python(folder, "-m", "analysis.cli.main", "new", "mine")
    assert 'kind = "furrow"' in (folder / "mine.toml").read_text(encoding="utf-8")
    bad = text.replace("depth_mm = 60", "depth_mm = 6000")
    (folder / "furrow.toml").write_text(bad, encoding="utf-8")
    tried = "import scenarios.load as s\ntry: s.load('furrow.toml')\nexcept s.ScenarioError as e: print(e)"
    said = python(folder, "-c", tried)
    assert "depth_mm" in said
    assert "5 to 500 mm" in said


def test_a_command_is_offered_and_answers(tmp_path):
    folder = carried_out("command", tmp_path)
    assert "what a unit weighs" in python(folder, "-m", "analysis.cli.main", "--help")
    assert python(folder, "-m", "analysis.cli.main", "mass", "hump") == "One hump: 115 kg\n"
    document = json.loads(python(folder, "-m", "analysis.cli.main", "mass", "hump", "--json"))
    assert document == {"scenario": "hump", "mass_kg": 115.0}


def test_a_figure_stands_on_the_page(tmp_path):
    """The blocks fit the template and its script (that pages work in a browser is tried in tests/browser)."""
    folder = carried_out("figure", tmp_path)
    static = folder / "analysis" / "report" / "static"
    name = re.search(r'Traces.load\("(chart-press)"', (static / "page.js").read_text(encoding="utf-8"))
    assert name
    assert f'id="{name[1]}"' in (static / "page.html.j2").read_text(encoding="utf-8")
