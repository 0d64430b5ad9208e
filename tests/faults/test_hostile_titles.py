"""A title is shown as it stands: no formula in a figure, no tag in a page, nothing that steers a terminal."""

from __future__ import annotations

import json

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
