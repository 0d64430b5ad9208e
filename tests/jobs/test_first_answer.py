"""What to set is shown before it is known how sure that is: the same words, in the same order, once."""

from __future__ import annotations

import pytest

from analysis.cli import main as door
from analysis.cli.main import main
from analysis.cli.parts.streams import Output
from analysis.window import advice

WORDS = ["window", "short.toml", "--pressures", "35:45:2", "--speeds", "5:6:2", "--seeds", "1", "--draws", "2"]


@pytest.fixture
def parts(tmp_path, monkeypatch):
    """What goes to standard output and what is looked at, in order; one scenario of 30 m stands in the folder."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "short.toml").write_text(
        'title = "Short"\n[ground]\nlength_m = 30\nroughness = { class = "A" }\n', encoding="utf-8"
    )
    found: list[str] = []
    put, sure = Output.put, advice.robustness
    monkeypatch.setattr(
        Output, "put", lambda self, text, end="\n": (found.append(f"{text}{end}"), put(self, text, end=end))
    )
    monkeypatch.setattr(advice, "robustness", lambda *given: (found.append("<how sure>"), sure(*given))[1])
    return found


def test_what_to_set_comes_first(parts, capsys):
    assert main(WORDS) == 0
    told = capsys.readouterr().out
    assert parts.index("<how sure>") == 1
    first, _, rest = parts
    assert "What to set" in first
    assert "  speed " in first
    assert "How sure" not in first
    assert rest.startswith("\nHow sure\n")
    assert told.endswith(first + rest)
    assert told.count("What to set") == 1


@pytest.mark.parametrize("more", [["--details"], ["--json"], ["--pins"]])
def test_other_texts_are_told_whole(parts, more):
    assert main([*WORDS, *more]) == 0
    assert parts[0] == "<how sure>"
    assert len(parts) == 2


def test_a_chance_that_decides_is_looked_at_once(parts, monkeypatch, tmp_path):
    with (tmp_path / "short.toml").open("a", encoding="utf-8") as file:
        file.write(
            '[uncertain]\nkeys = ["soil.strength_MPa"]\ncentre = [1.2]\nspread = [1.2]\ncorrelation = [[1]]\n'
            "readings = 9\n[soil]\nstrength_MPa = 1.2\n"
        )
    looked, chance = [], advice.in_doubt
    monkeypatch.setattr(advice, "in_doubt", lambda *given: (looked.append(1), chance(*given))[1])
    assert main(WORDS) == 0
    assert looked == [1]
    assert "How sure" in parts[-1]
    assert "What to set" in parts[-1]


def test_a_text_that_begins_otherwise_is_told_whole():
    assert door._rest(door.Answer("a\nb\nc", {}, shown="a\nb")) == "c"
    assert door._rest(door.Answer("a\nb", {}, shown="b")) == "a\nb"
    assert door._rest(door.Answer("a\nb", {})) == "a\nb"
