"""What would take gigabytes is refused with an estimate before it starts, what takes long is told, Ctrl-C ends it."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from called import refused

from analysis.cli.parts import size
from analysis.cli.parts.request import Request
from scenarios.load import load

ROOT = Path(__file__).parents[2]
LONG = 'title = "Long"\n[settings]\nspeed_kmh = {speed}\n[ground]\nlength_m = {length}\nroughness = {{ class = "D" }}\n'


@pytest.fixture
def desk(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for name, length, speed in (("far", 20_000, 8), ("far_slow", 20_000, 1), ("long", 4_900, 8)):
        (tmp_path / f"{name}.toml").write_text(LONG.format(length=length, speed=speed), encoding="utf-8")

    def computes(*_words, **_named):
        raise AssertionError("it computes before it refuses")

    for module in ("window", "press", "explain", "pages.report"):
        monkeypatch.setattr(f"analysis.cli.{module}.ready", computes)
    return tmp_path


@pytest.mark.parametrize(
    ("words", "tried"),
    [
        (["window", "rough", "--pressures", "1:200:1000", "--speeds", "1:30:1000"], "try: fewer settings"),
        (["window", "rough", "--precharges", "15:40:100", "--depths", "30:50:100"], "try: fewer settings"),
        (["window", "rough", "--seeds", "1000"], "fewer than 1000 grounds"),
        (["window", "far.toml"], "try: a smaller ground.length_m"),
        (
            ["window", "far_slow.toml", "--pressures", "40", "--speeds", "1", "--seeds", "1"],
            "a smaller ground.length_m",
        ),
        (["report", "far.toml", "--out", "page.html"], "try: a smaller ground.length_m"),
        (
            ["report", "rough", "--pressures", "1:200:1000", "--speeds", "1:30:90", "--out", "page.html"],
            "try: fewer settings",
        ),
        (["press", "long.toml"], "try: a smaller ground.length_m"),
        (["explain", "long.toml"], "try: a smaller ground.length_m"),
        (["explain", "far_slow.toml"], "or more settings.speed_kmh"),
    ],
    ids=lambda words: " ".join(words) if isinstance(words, list) else "",
)
def test_what_would_take_gigabytes(words, tried, desk, capsys):
    said = refused(capsys, *words)
    assert " would take about " in said
    assert "allowed: up to 1 GB" in said
    assert tried in said
    assert len(list(desk.iterdir())) == 3


def test_the_library_is_not_too_large():
    for name in ("rough", "stony", "gilgai"):
        size.tell_search(Request("window"), load(name), 2)
        size.tell_explained(load(name))


def test_what_takes_long_is_told_before_it_starts():
    heard = []
    request = Request("window", say=heard.append)
    size.tell_search(request, load("rough"), 2)
    assert heard == []
    size.tell_search(request, load("rough"), 1, settings=500)
    (said,) = heard
    assert said.startswith("12000 crossings of 300 m: about ")
    assert " min " in said
    assert said.endswith("Ctrl-C stops it")


@pytest.mark.skipif(os.name == "nt", reason="no such signal")
def test_ctrl_c_ends_a_long_search(tmp_path):
    words = ["window", "rough", "--pressures", "30:55:30", "--speeds", "5:12:20", "--figure", "a.png"]
    with subprocess.Popen(
        [sys.executable, "-m", "analysis.cli.main", *words], cwd=tmp_path, stderr=subprocess.PIPE,
        stdout=subprocess.PIPE, env={**os.environ, "PYTHONPATH": str(ROOT)}, text=True,
    ) as process:  # fmt: skip
        assert process.stderr is not None
        said = ""
        while "crossings: " not in said:
            said = process.stderr.readline()
            assert said, "it ended by itself"
        begin = time.monotonic()
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=60)
    assert process.returncode == 130
    assert "stopped; nothing was written" in err
    assert out == ""
    assert time.monotonic() - begin < 30
    assert list(tmp_path.iterdir()) == []
