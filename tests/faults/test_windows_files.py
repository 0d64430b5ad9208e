"""Files as Windows' editors leave them: a mark at the start, CR and LF at the ends of lines."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import paddocks
import pytest

from analysis.paddock.fingerprint import fingerprint
from scenarios.load import load
from scenarios.paddock.load import load_paddock

ROOT = Path(__file__).parents[2]
SCENARIO = 'title = "Näher am Bach"\n\n[ground]\nlength_m = 30 # up to the creek\nroughness = { class = "C" }\n'


def as_windows(text: str) -> bytes:
    return b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode("utf-8")


def test_a_scenario_file(tmp_path):
    (tmp_path / "a.toml").write_bytes(SCENARIO.encode("utf-8"))
    (tmp_path / "b.toml").write_bytes(as_windows(SCENARIO))
    plain, other = load(tmp_path / "a.toml"), load(tmp_path / "b.toml")
    assert other.title == "Näher am Bach"
    assert (plain.ground, plain.soil, plain.unit, plain.settings) == (
        other.ground, other.soil, other.unit, other.settings,
    )  # fmt: skip


def test_a_paddock_file(tmp_path):
    (tmp_path / "a.toml").write_bytes(paddocks.text().encode("utf-8"))
    (tmp_path / "b.toml").write_bytes(as_windows(paddocks.text()))
    assert fingerprint(load_paddock(tmp_path / "a.toml")) == fingerprint(load_paddock(tmp_path / "b.toml"))


@pytest.mark.parametrize("encoding", ["cp1252", "ascii"])
@pytest.mark.parametrize(
    ("words", "code"),
    [(["library"], 0), (["library", "--json"], 0), (["draw", "hump"], 0), (["pressures", "hump"], 0),
     (["explain", "--help"], 0), (["run", "rough", "--pressure", "Ä≤→"], 2)],
    ids=["library", "json", "draw", "pressures", "help", "fault"],
)  # fmt: skip
def test_a_console_that_cannot_show_every_sign(words, code, encoding):
    done = subprocess.run(
        [sys.executable, "-m", "analysis.cli.main", *words], capture_output=True, check=False, timeout=120,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": encoding},
    )  # fmt: skip
    said = done.stdout.decode(encoding) + done.stderr.decode(encoding)
    assert done.returncode == code, said
    assert "Traceback" not in said
    assert len(said) > 20
    if "--json" in words:
        assert json.loads(done.stdout.decode(encoding))["scenarios"]
