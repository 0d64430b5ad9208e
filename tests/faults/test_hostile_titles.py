"""A title is shown as it stands: no formula in a figure, no tag in a page, nothing that steers a terminal."""

from __future__ import annotations

import json
import os

import paddocks
import pytest
from every import every

from analysis.cli.main import main

TITLE = r"""$x$ and $\frac{1$, <script>alert(1)</script> & "{{ title }}" """
FILE = f"""\
title = '''{TITLE}'''
[ground]
length_m = 8
roughness = {{ class = "D" }}
[search]
pressures_bar = [40, 45]
speeds_kmh = [8]
seeds = 1
"""


@pytest.fixture
def file(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "a.toml").write_text(FILE, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("name", ["run", "window", "pressures", "disc", "press", "draw"])
@pytest.mark.parametrize("ending", ["png", "svg"])
def test_figures_show_it(name, ending, file, capsys):
    assert main([name, "a.toml", "--figure", f"a.{ending}"]) == 0, capsys.readouterr().err
    assert (file / f"a.{ending}").stat().st_size > 1000


def test_the_figures_of_an_explanation_show_it(file, capsys):
    assert main(["explain", "a.toml", "--figures", "f"]) == 0, capsys.readouterr().err
    assert list((file / "f").iterdir())


def test_the_page_shows_it_as_text(file, capsys):
    assert main(["report", "a.toml", "--out", "page.html"]) == 0, capsys.readouterr().err
    page = (file / "page.html").read_text(encoding="utf-8")
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page


@every("sign", ["\\u001b[31m", "\\u0000", "\\u0007", "\\u202e"])
def test_signs_that_steer_a_terminal_are_refused(sign, file, capsys):
    (file / "a.toml").write_text(FILE.replace(f"'''{TITLE}'''", f'"red {sign} sea"'), encoding="utf-8")
    capsys.readouterr()
    assert main(["run", "a.toml"]) == 2
    said = capsys.readouterr().err
    assert "title" in said
    assert "it holds control characters" in said
    assert 'try: "red ' in said
    assert said.strip("\n").isprintable()


def test_a_plain_title_of_any_script_is_kept(file, capsys):
    (file / "a.toml").write_text(FILE.replace(f"'''{TITLE}'''", '"Südhang, поле №3, 丘"'), encoding="utf-8")
    assert main(["run", "a.toml", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)


MARKED = '<img src=x onerror=alert(1)> $x$ & {{ 7*7 }} "z"'
FILE_NAME = "<b onclick=alert(1)>$x$&{{ 7*7 }}.csv"  # a good name where there are no forbidden signs


def shown_as_text(page: str) -> None:
    """No text of a file has become a tag, and none was filled in as a template."""
    for mark in ("<img src=x", "<script>alert", "<b onclick"):
        assert mark not in page
    assert "{{ 7*7 }}" in page or "{{ title }}" in page


@pytest.fixture
def marked_file(file):
    """A scenario all of whose texts hold markup: title, what it shows, the measured ground's file, its own name."""
    points = "".join(f"{i / 10},{0.01 * (i % 7)}\n" for i in range(300))
    (file / FILE_NAME).write_text(f"distance_m,height_m\n{points}", encoding="utf-8")
    text = FILE.replace(
        '[ground]\nlength_m = 8\nroughness = { class = "D" }', f"[ground.profile]\nfile = '{FILE_NAME}'"
    )
    text = text.replace("[ground.profile]", f"shows = '{MARKED}'\n[ground.profile]")
    name = "<b onclick=alert(1)>$x$&{{ 7*7 }}.toml"
    (file / name).write_text(text, encoding="utf-8")
    return name


@pytest.mark.skipif(os.name == "nt", reason="no such names")
def test_every_text_of_a_scenario_is_text_on_the_page_and_in_json(marked_file, file, capsys):
    assert main(["report", marked_file, "--out", "page.html"]) == 0, capsys.readouterr().err
    shown_as_text((file / "page.html").read_text(encoding="utf-8"))
    capsys.readouterr()
    assert main(["run", marked_file, "--json", "--figure", "a.svg"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert TITLE.strip() in document["title"] if "title" in document else document
    assert main(["window", marked_file, "--figure", "b.png"]) == 0
    assert main(["explain", marked_file, "--figures", "figures"]) == 0


@pytest.mark.skipif(os.name == "nt", reason="no such names")
def test_every_text_of_a_paddock_is_text_on_the_page_in_json_and_in_figures(file, capsys):
    (file / FILE_NAME).write_text("x_m,y_m,strength_MPa\n0,0,1.2\n20,0,1.3\n0,3,1.3\n20,3,1.2\n", encoding="utf-8")
    zone = f"name = '{MARKED}'\nstart_m = [5, 0]\nend_m = [15, 2]\nstrength_MPa = 2.0\n"
    text = paddocks.text({"measured": f"strength_file = '{FILE_NAME}'"}, f"[[zones]]\n{zone}")
    (file / "p.toml").write_text(text.replace('title = "Test paddock"', f"title = '{MARKED}'"), encoding="utf-8")
    drawn = ["--map", "m.svg", "--rows", "r.png", "--settings", "s.svg", "--csv", "t.csv"]
    assert main(["paddock", "p.toml", "--out", "r.h5", "--workers", "1", "--json", *drawn]) == 0, (
        capsys.readouterr().err
    )
    assert MARKED in json.dumps(json.loads(capsys.readouterr().out), ensure_ascii=False).replace('\\"', '"')
    for name in ("m.svg", "s.svg"):
        assert "<img" not in (file / name).read_text(encoding="utf-8")
    assert main(["report", "r.h5", "--out", "page.html"]) == 0, capsys.readouterr().err
    shown_as_text((file / "page.html").read_text(encoding="utf-8"))
