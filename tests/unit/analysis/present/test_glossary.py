"""One table of words: on the screen, in README, and holding what screens use without saying what it is."""

import json
from pathlib import Path

from called import refused
from every import every

from analysis.cli.main import main
from analysis.present.glossary import GLOSSARY, markdown, named

README = (Path(__file__).parents[4] / "README.md").read_text(encoding="utf-8")


def test_the_table_in_readme_is_this_one():
    section = README.split("\n## Words\n", 1)[1].split("\n## ", 1)[0]
    assert section.strip() == markdown()
    assert len(markdown().splitlines()) > 15


def test_no_word_stands_twice():
    names = [name.lower() for entry in GLOSSARY for name in entry.names]
    assert len(names) == len(set(names))


@every(
    "word",
    ["RMS", "rms", "SD", "Gd", "speed term", "contact stiffness", "share of variance", "episode", "ground number"],
)
def test_a_word_of_a_screen_is_explained(word, capsys):
    assert main(["words", word]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert named(word).meaning in out
    assert len(out) < 400


def test_all_words_fit_a_terminal_and_a_document(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    assert main(["words"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 80
    assert main(["words", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["words"] == {entry.words: entry.meaning for entry in GLOSSARY}


def test_an_unknown_word_gets_the_nearest(capsys):
    assert 'try: rowbench words "downforce"' in refused(capsys, "words", "down force")
    assert "try: rowbench words" in refused(capsys, "words", "xylophone")
