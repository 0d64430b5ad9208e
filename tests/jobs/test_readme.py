"""What README shows: its commands run, its file loads, its pictures are there, its screen is the program's."""

import re
import shlex
import tomllib
from pathlib import Path

import numpy as np
import pytest
from every import every

from analysis.cli.main import main
from analysis.present.cautions import PRESSURE_SHORT
from analysis.window.words import MORE
from scenarios.load import load

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```sh\n(.*?)```", README, re.DOTALL)
SHOWN = [line for block in BLOCKS for line in block.splitlines() if line.startswith("rowbench ")]


def words_of(line):
    """Words of a shown command, comment left out."""
    return shlex.split(line, comments=True)[1:]


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Where the commands run one after the other, with the files they name that a user brings along."""
    place = tmp_path_factory.mktemp("readme")
    x = np.arange(0.0, 42.0, 0.1)
    rows = "".join(f"{a:.2f},{0.01 * np.sin(a):.5f}\n" for a in x)
    (place / "my_ground.csv").write_text("distance_m,height_m\n" + rows)
    digs = "".join(f"{row},{40 + dig % 3}\n" for row in range(1, 9) for dig in range(12))
    (place / "digs.csv").write_text("row,depth_mm\n" + digs)
    return place


def stopped(address):
    """In place of a browser."""
    raise KeyboardInterrupt(address)


@pytest.mark.parametrize("line", SHOWN)
def test_a_shown_command_runs(line, folder, monkeypatch, capsys):
    monkeypatch.chdir(folder)
    words = words_of(line)
    if words[0] == "bench":  # goes on until it is closed
        monkeypatch.setattr("analysis.cli.pages.bench.show", stopped)
    if words[0] in ("window", "verify", "compare", "rank", "design"):  # on less ground: the whole takes half a minute
        (folder / "rough.toml").write_text('title = "x"\n[ground]\nlength_m = 8\nroughness = { class = "C" }\n')
        words = ["rough.toml" if w == "rough" else w for w in words]
    words += {"rank": ["--draws", "8", "--seeds", "1"], "design": ["--tries", "40", "--seeds", "1"]}.get(words[0], [])
    if words[0] in ("window", "compare"):
        words += [] if "--pressures" in words else ["--pressures", "55:65:2"]
        words += [] if "--speeds" in words else ["--speeds", "7:8:2"]
        words += [] if "--seeds" in words else ["--seeds", "1"]
    assert main(words) == 0, capsys.readouterr().err
    for word in words:
        if word.endswith((".png", ".h5")):
            assert (folder / word).stat().st_size > 1000


def test_the_two_commands_stand_first():
    first, second = (block.strip() for block in BLOCKS[:2])
    assert first.startswith("python3 -m venv .venv && .venv/bin/pip install . && .venv/bin/rowbench window")
    assert second.endswith("&& .venv/bin/python -m pytest -n 2")
    assert words_of("rowbench " + first.split(".venv/bin/rowbench ")[1]) == ["window", "rough"]


def test_the_shown_scenario_file_loads(tmp_path):
    text = re.search(r"```toml\n(.*?)```", README, re.DOTALL).group(1)
    path = tmp_path / "back_paddock.toml"
    path.write_text(text, encoding="utf-8")
    scenario = load(path)
    assert scenario.title == tomllib.loads(text)["title"]
    assert len(text.splitlines()) <= 11


def test_the_shown_python_runs_and_prints_what_is_shown(folder, monkeypatch, capsys):
    monkeypatch.chdir(folder)
    code, shown = re.search(r"## From Python\n.*?```python\n(.*?)```\n+```text\n(.*?)```", README, re.DOTALL).groups()
    assert max(map(len, code.splitlines())) <= 80
    exec(compile(code, "README.md", "exec"), {})
    assert capsys.readouterr().out == shown
    assert (folder / "map.png").stat().st_size > 1000


def test_the_shown_screen_is_of_this_program():
    shown = re.search(r"<!-- screen:begin -->\n```text\n(.*?)```\n<!-- screen:end -->", README, re.DOTALL).group(1)
    heads = [line for line in shown.splitlines()[1:] if line and not line.startswith(" ")]
    assert heads[:2] == ["What to set", "How sure"]
    assert len(shown.splitlines()) <= 24
    assert max(map(len, shown.splitlines())) <= 80
    title = load("rough").title
    assert shown.startswith(f"{title} (rough): 300 m")
    assert f"{PRESSURE_SHORT} {MORE}" in " ".join(shown.split())


@every("name", re.findall(r"\]\((\.readme/[^)]+)\)", README))
def test_a_picture_is_there_small_and_told_how_it_was_made(name):
    path = ROOT / name
    assert path.read_bytes().startswith(b"\x89PNG")
    assert path.stat().st_size < 150_000
    assert f"--figure {name}`" in README


def test_every_local_link_leads_somewhere():
    for target in re.findall(r"\]\(([^)#]+)\)", README):
        if "://" not in target:
            assert (ROOT / target).exists(), target
