"""Limits of the system (open files, memory, threads), other languages, a clock that is wrong: told, or of no effect."""

from __future__ import annotations

import csv
import json
import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import paddocks
import pytest
from interrupted import half_done, run

from analysis.cli.main import main
from analysis.paddock.store_parts import parts_folder

ROOT = Path(__file__).parents[2]
posix = pytest.mark.skipif(os.name == "nt", reason="Windows sets no such limits")

LIMITED = """
import contextlib, io, json, os, resource, sys
from analysis.cli.main import main
kind, first, last, by, words = getattr(resource, sys.argv[1]), *map(int, sys.argv[2:5]), sys.argv[5:]
def attempt():
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main(words)
    return code, out.getvalue(), err.getvalue()
whole = attempt()
if kind == resource.RLIMIT_NOFILE:
    used = max(map(int, os.listdir("/proc/self/fd"))) if os.path.isdir("/proc/self/fd") else 3
else:
    used = int(open("/proc/self/statm").read().split()[0]) * resource.getpagesize()
soft, hard = resource.getrlimit(kind)
found = []
for more in range(first, last, by):
    resource.setrlimit(kind, (used + more, hard))
    try:
        found.append(attempt())
    finally:
        resource.setrlimit(kind, (soft, hard))
found.append(attempt())
sys.stdout.write(json.dumps([whole, found]))
"""


def limited(kind: str, steps: range, *words: str) -> tuple[list, list]:
    """What a command says in one process: freely, then under each limit beside what is in use, then freely again."""
    done = subprocess.run(
        [sys.executable, "-c", LIMITED, kind, str(steps.start), str(steps.stop), str(steps.step), *words],
        capture_output=True, text=True, check=False, cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    whole, found = json.loads(done.stdout)
    return whole, found


def told(code: int, out: str, err: str, *reasons: str) -> bool:
    return code == 2 and not out and "Traceback" not in err and "; allowed: " in err and "; try: " in err and any(
        reason in err for reason in reasons
    )  # fmt: skip


@posix
def test_too_few_files_may_be_open(tmp_path):
    scenario = tmp_path / "short.toml"
    scenario.write_text('title = "Short"\n[ground]\nlength_m = 6\nroughness = { class = "C" }\n', encoding="utf-8")
    files = ("--save", str(tmp_path / "a.h5"), "--figure", str(tmp_path / "a.png"))
    whole, found = limited("RLIMIT_NOFILE", range(1, 6), "run", str(scenario), *files)
    assert whole[0] == 0
    *under, freely = found
    assert freely[:2] == whole[:2]
    assert under[0][0] == 2
    for code, out, err in under:
        assert code == 0 or told(code, out, err, "Too many open files"), err
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.h5", "a.png", "short.toml"]


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="what is in use is read from /proc")
def test_too_little_memory(tmp_path):
    scenario = tmp_path / "long.toml"
    scenario.write_text('title = "Long"\n[ground]\nlength_m = 3000\nroughness = { class = "C" }\n', encoding="utf-8")
    whole, found = limited("RLIMIT_AS", range(8_000_000, 100_000_000, 30_000_000), "run", str(scenario), "--json")
    assert whole[0] == 0
    *under, freely = found
    assert freely[0] == 0
    assert under[0][0] == 2
    for code, out, err in under:
        assert code == 0 or told(code, out, err, "memory: memory ran out"), err


def test_threads_that_cannot_be_started(tmp_path, monkeypatch, capsys):
    import threading  # noqa: PLC0415

    path = paddocks.write(tmp_path)

    def none(self):
        raise RuntimeError("can't start new thread")

    with monkeypatch.context() as patched:
        patched.setattr(threading.Thread, "start", none)
        code, said = run(capsys, path, tmp_path / "r.h5")
    assert code == 2
    assert "no more threads or processes can be started" in said
    assert "fewer --workers" in said
    assert run(capsys, path, tmp_path / "r.h5")[0] == 0


@pytest.mark.parametrize("error", [OSError(2, "No such file"), RuntimeError("else"), OSError("no number")])
def test_a_mistake_of_the_program_still_shows_as_one(error, monkeypatch):
    def mistaken(request):
        raise error

    monkeypatch.setattr("analysis.cli.library.answer", mistaken)
    with pytest.raises(type(error)):
        main(["library"])


LANGUAGE = """
import locale, sys
locale.setlocale(locale.LC_ALL, "")
point = locale.localeconv()["decimal_point"]
sys.stderr.write(f"{point}\\n")
from analysis.cli.main import main
sys.exit(main(sys.argv[1:]))
"""


@pytest.fixture(scope="module")
def german(tmp_path_factory):
    """A folder with a German locale, made where the system has what that takes."""
    folder = tmp_path_factory.mktemp("locales")
    localedef = shutil.which("localedef")
    if localedef is None:
        pytest.skip("no localedef")
    made = subprocess.run([localedef, "-i", "de_DE", "-f", "UTF-8", str(folder / "de_DE.UTF-8")],
                          capture_output=True, check=False)  # fmt: skip
    if not (folder / "de_DE.UTF-8").is_dir():
        pytest.skip(f"no German locale can be made here: {made.stderr!r}")
    return folder


def test_a_decimal_comma_and_plain_ascii_change_no_number(made, tmp_path, german):
    """Document and files are the same bytes where the system writes 1,5 for 1.5, and where it knows no letters but
    English ones; file names with umlauts work in both."""
    _, whole = made
    stored = tmp_path / "Gemüse.h5"
    stored.write_bytes(whole)
    found = {}
    for name, extra in {
        "C": {"LC_ALL": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0"},
        "de": {"LC_ALL": "de_DE.UTF-8", "LOCPATH": str(german)},
    }.items():
        folder = tmp_path / name
        folder.mkdir()
        env = {k: v for k, v in os.environ.items() if not k.startswith(("LC_", "LANG", "PYTHONUTF8", "PYTHONIOENC"))}
        words = ("paddock", str(stored), "--json", "--csv", str(folder / "Rüben.csv"), "--map", str(folder / "a.svg"))
        done = subprocess.run([sys.executable, "-c", LANGUAGE, *words], capture_output=True, check=False, cwd=ROOT,
                              env={**env, "PYTHONPATH": str(ROOT), **extra})  # fmt: skip
        assert done.returncode == 0, done.stderr
        assert done.stderr == {"C": b".\n", "de": b",\n"}[name]
        table = (folder / "Rüben.csv").read_bytes()
        found[name] = json.loads(done.stdout.decode("utf-8")), table, (folder / "a.svg").read_bytes()
    assert found["C"][1:] == found["de"][1:]
    plain, umlaut = (found[name][0] for name in ("C", "de"))
    assert {**plain, "result": ""} == {**umlaut, "result": ""}
    assert umlaut["result"] == str(stored)
    rows = list(csv.DictReader(found["de"][1].decode("utf-8").splitlines()))
    assert all(float(row["x_m"]) >= 0.0 for row in rows)


def test_a_clock_that_goes_back_changes_nothing(made, tmp_path, capsys, monkeypatch):
    """Finished passes from the future, a clock that runs backwards from call to call: resumed to the same bytes."""
    path, whole = made
    out = tmp_path / "r.h5"
    half_done(path, out)
    for place, stamp in zip(parts_folder(out).iterdir(), (4e9, 0.0, 4e9, 0.0), strict=False):
        os.utime(place, (stamp, stamp))
    now = [2e9]

    def back() -> float:
        now[0] -= 3600.0
        return now[0]

    monkeypatch.setattr(time, "time", back)
    monkeypatch.setattr(time, "perf_counter", back)
    assert run(capsys, path, out)[0] == 0
    assert out.read_bytes() == whole
