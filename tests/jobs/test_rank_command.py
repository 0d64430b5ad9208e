"""`rowbench rank` as a grower or a builder would use it: screen, JSON, figure, keys, faults, Ctrl-C."""

from __future__ import annotations

import json

import pytest

from analysis.cli.main import INTERRUPTED, main
from analysis.cli.parts.machine import Ended
from analysis.rank import rank as ranking
from analysis.rank.crossed import Evaluation

FIELD = """title = "Mine"
[ground]
length_m = 12
roughness = { class = "D" }
[search]
pressures_bar = [40]
speeds_kmh = [7, 9]
seeds = 1
draws = 8
"""


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mine.toml").write_text(FIELD, encoding="utf-8")
    return tmp_path


def said(capsys, *words):
    assert main(["rank", "mine.toml", *words]) == 0
    return capsys.readouterr().out


def refused(capsys, *words):
    assert main(["rank", *words]) == 2
    return " ".join(capsys.readouterr().err.split())


def test_one_answer_first_then_bars_then_how_sure_on_one_screen(capsys, here):
    text = said(capsys, "--keys", "soil.strength_MPa,gas,unit.disc", "--figure", "rank.png")
    order = ["What moves the on-depth share: Mine", "share of its variance", "Groups: ", "on ground 1 of 12 m"]
    whole = " ".join(text.split())
    places = [whole.index(word) for word in order]
    assert places == sorted(places)
    assert all(len(line) <= 80 for line in text.splitlines())
    assert "█" in text
    assert len(text.splitlines()) <= 30
    assert (here / "rank.png").read_bytes().startswith(b"\x89PNG")


def test_keys_within_a_share_and_their_document(capsys, here):
    words = ("--within", "10", "--keys", "unit.disc.edge_width_mm,together.arm_m,tyres", "--measure", "pin-mean")
    d = json.loads(said(capsys, *words, "--set", "soil.strength_MPa=1.5", "--json"))
    keys = [one["key"] for one in d["values"]]
    assert keys[0] == "unit.disc.edge_width_mm"
    assert "together.arm_m" in keys
    assert len(keys) == 2 + 6
    arm = d["values"][keys.index("together.arm_m")]
    assert arm["moves_together"] == ["unit.main_links.length_m", "unit.depth_linkage.rod_m"]
    assert (d["measure"], d["ranges"], d["within_percent"]) == ("pin_rms", "within", 10.0)
    assert d["changed"] == {"soil.strength_MPa": {"value": 1.5, "file": 1.2}}
    assert d["first_points"] == d["first_points_asked"] == 8
    assert d["sets"] == 8 * (2 + len(keys) + len(d["groups"]))
    total = d["values"][0]["total_share"]["pin_rms_N"]
    assert total["low_95"] <= total["value"] <= total["high_95"]


def test_the_pick(capsys, here):
    text = said(capsys, "--measure", "pick", "--keys", "soil.strength_MPa")
    assert "What moves the speed up to which some pressure meets every limit" in text.replace("\n", " ")
    assert "km/h" in text


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--within", "0"), '--within: given "0"; allowed: 0.1 to 50 %'),
        (("--measure", "depht"), "allowed: on-depth, wheel-off, scatter, pin-peak, pin-mean, pick"),
        (("--keys", "unit.disc.radius_m"), "try: --within 10 --keys unit.disc.radius_m"),
        (("--keys", "stones.contact.stiffness_MN_per_m"), "no stones on this ground"),
        (("--keys", ","), "--keys: nothing given"),
        (("--draws", "4"), "8 or more to rank by"),
        (("--measure", "pick", "--figure", "a.png"), "--figure: given with --measure pick"),
    ],
)
def test_what_cannot_be_is_told_before_anything_is_crossed(words, told, capsys, here):
    assert told in refused(capsys, "mine.toml", *words)
    assert not (here / "a.png").exists()


@pytest.mark.parametrize(("stop", "code"), [(KeyboardInterrupt(), INTERRUPTED), (Ended(15), 143)])
def test_ctrl_c_tells_what_is_done(stop, code, capsys, here, monkeypatch):
    class Ends(Evaluation):
        def __call__(self, points):
            asked.append(points)
            if len(asked) > 6:
                raise stop
            return super().__call__(points)

    asked = []
    monkeypatch.setattr(ranking, "Evaluation", Ends)
    assert main(["rank", "mine.toml", "--keys", "gas", "--workers", "1", "--figure", "a.png"]) == code
    shown = capsys.readouterr()
    assert "Stopped after 6 of 8 first points" in shown.out
    assert "rowbench: stopped; 6 of 8 first points were done: what they say stands above" in shown.err
    assert not (here / "a.png").exists()


def test_ctrl_c_gives_the_document_too(capsys, here, monkeypatch):
    class Ends(Evaluation):
        def __call__(self, points):
            asked.append(points)
            if len(asked) > 6:
                raise KeyboardInterrupt
            return super().__call__(points)

    asked = []
    monkeypatch.setattr(ranking, "Evaluation", Ends)
    assert main(["rank", "mine.toml", "--keys", "gas", "--workers", "1", "--json"]) == INTERRUPTED
    d = json.loads(capsys.readouterr().out)
    assert (d["first_points"], d["first_points_asked"]) == (6, 8)
