"""Damaged, extreme and hostile input made up by seed: a small part of what `python -m tests.damaged` tries, and whether
its judge sees every kind of wrong end.
"""

from __future__ import annotations

import math
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from damaged import apart, attempt, many
from damaged.attempt import FINE, Outcome
from damaged.case import Case
from damaged.kinds import KINDS, make
from every import every

ROOT = Path(__file__).parents[2]
CASES, SEED = 220, 11
FAULT = "rowbench: a.toml: given 3; allowed: 1 to 2; try: 1\n"

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="cases are tried in copies of a process")


def test_a_few_hundred_cases_of_every_kind_end_as_they_must(tmp_path):
    words = [sys.executable, "-m", "tests.damaged", str(CASES), "--seed", str(SEED), "--workers", "1"]
    done = subprocess.run([*words, "--keep", str(tmp_path)], cwd=ROOT, capture_output=True, text=True, check=False)
    kept = [place.read_text(encoding="utf-8") for place in tmp_path.rglob("what.txt")]
    assert done.returncode == 0, "\n".join([done.stdout, done.stderr[-2000:], *kept])
    total = re.search(r"^ *all +(\d+) +(\d+) +(\d+)$", done.stdout, re.MULTILINE)
    assert total, done.stdout
    count, answered, refused = map(int, total.groups())
    assert (count, answered + refused) == (CASES, CASES)
    assert min(answered, refused) > CASES / 8, "cases that only ever end one way try little"
    kinds = {line.split(",")[0].strip() for line in done.stdout.splitlines() if "," in line}
    assert kinds >= {"scenario", "paddock", "profile", "digs", "line", "result", "passes"}
    assert len(list(tmp_path.iterdir())) == 0


def test_the_same_seed_makes_the_same_cases():
    for number in range(25):
        one, again = make(5, number), make(5, number)
        assert (one.kind, one.words, one.files) == (again.kind, again.words, again.files)
    assert make(5, 0).files != make(6, 0).files


def test_every_kind_can_be_asked_for_alone():
    for name in KINDS:
        kinds = {make(1, number, (name,)).kind.split(",")[0] for number in range(3)}
        assert len(kinds) >= 1
        assert all("," in make(1, number, (name,)).kind for number in range(3))


def _raises(words):
    raise KeyError("x")


def _says(code, out="", err="", **files):
    def told(words):
        sys.stdout.write(out)
        sys.stderr.write(err)
        for name, text in files.items():
            Path(name.replace("_", ".")).write_text(text)
        return code

    return told


@every(("how", "told", "words"), [
    ("answered", _says(0, "fine"), ()), ("answered", _says(0, '{"a": 1}'), ("--json",)),
    ("answered", _says(0, "--json.toml written"), ("new", "--", "--json")),
    ("refused", _says(2, err=FAULT), ()), ("refused", _says(2, err="compiling…\n" + FAULT), ()),
    ("TRACEBACK KeyError", _raises, ()), ("TRACEBACK told", _says(0, err="Traceback (most recent call last)"), ()),
    ("EXIT 3", _says(3), ()), ("JSON", _says(0, "no"), ("--json",)), ("JSON", _says(0, '{"a": NaN}'), ("--json",)),
    ("JSON NaN", _says(0, '{"a": 1e999}'), ("--json",)), ("NAN", _says(0, "share nan %"), ()),
    ("LEFT FILES", _says(2, err=FAULT, half_png="x"), ()), ("LEFT FILES", _says(2, err=FAULT, a_toml="changed"), ()),
    ("LEFT FILES", _says(0, "fine", out_png=""), ()), ("JSON", _says(0, "fine", a_geojson="[NaN]"), ()),
    ("NAN", _says(0, "fine", page_html="[1, NaN]"), ()), ("NAN", _says(0, "fine", a_csv="1,nan,2"), ()),
    ("MESSAGE", _says(2, err="rowbench: a.toml: given 3\n"), ()), ("MESSAGE", _says(2, err="no\n"), ()),
    ("MESSAGE", _says(2, err="rowbench: a.toml: given 3; allowed: 1 to 2\n"), ()),
    ("MESSAGE", _says(2, err="rowbench: wrong; allowed: 1; try: \n"), ()), ("MESSAGE", _says(2), ()),
    ("STEERS", _says(0, "a\x1b[2J"), ()), ("STEERS", _says(2, err="rowbench: \x07 " + FAULT), ()),
])  # fmt: skip
def test_the_judge_sees_how_a_case_ended(how, told, words, monkeypatch):
    with monkeypatch.context() as patched:
        patched.setattr(attempt, "main", told)
        assert attempt.attempt(Case("x", words, {"a.toml": b"given"})).how == how


def test_the_judge_sees_another_answer(monkeypatch):
    monkeypatch.setattr(attempt, "main", _says(0, "fine"))
    assert attempt.attempt(Case("x", (), fits=lambda folder: "others")).how == "OTHER ANSWER"
    assert attempt.attempt(Case("x", (), fits=lambda folder: "")).how == "answered"


def _dies(number):
    os.kill(os.getpid(), signal.SIGKILL)


def _waits(number):
    time.sleep(60.0)


def _computes(number):
    begin = time.process_time()
    while time.process_time() - begin < 0.5:
        pass
    return "x", Outcome("answered")


@every(("how", "work"), [("CRASH", _dies), ("HANG", _waits), ("HANG", _computes)])
def test_a_case_that_dies_or_hangs_is_told_and_the_next_goes_on(how, work, monkeypatch):
    with monkeypatch.context() as patched:
        patched.setattr(apart, "LONGEST", 0.3)
        patched.setattr(apart, "LARGEST", math.inf)  # a child begins as large as the tests before have grown
        patched.setattr(apart, "WAITED", 5.0 if work is _computes else 1.0)
        patched.setattr(many, "make", lambda seed, number, kinds: Case("x", (str(number),)))
        patched.setattr(
            many,
            "attempt",
            lambda case: Outcome("answered") if case.words != ("1",) else work(1) and Outcome("answered"),
        )
        found = many.try_all(4, 1, [], 1, None)
    assert [(number, outcome.how) for number, outcome in found.wrong] == [(1, how)]
    assert found.counts["x", "answered"] == 3
    assert found.again == (how == "HANG")  # it had a second try by itself


def test_a_case_that_was_slow_beside_others_may_be_quick_by_itself(monkeypatch, tmp_path):
    def once(case):
        if case.words == ("1",) and not (tmp_path / "tried").exists():
            (tmp_path / "tried").touch()
            _computes(1)
        return Outcome("answered")

    with monkeypatch.context() as patched:
        patched.setattr(many, "attempt", once)
        patched.setattr(many, "make", lambda seed, number, kinds: Case("x", (str(number),)))
        patched.setattr(apart, "LONGEST", 0.3)
        patched.setattr(apart, "LARGEST", math.inf)
        found = many.try_all(4, 1, [], 1, None)
    assert (found.fine, found.again, found.counts["x", "answered"]) == (True, 1, 4)
    assert "1 tried again, alone" in found.table()


def test_a_process_that_grows_too_large_is_told(monkeypatch):
    monkeypatch.setattr(apart, "LARGEST", 1.0)
    tried = apart._one(0, lambda number: ("x", Outcome("refused")))
    assert tried.outcome.how == "MEMORY"
    assert tried.outcome.how not in FINE
