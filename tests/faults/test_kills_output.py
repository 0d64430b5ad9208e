"""Standard output that is full, closed, or read by someone who has gone; standard error too: never a traceback."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from pathlib import Path

import pytest

from analysis.cli.commands import COMMANDS, command
from analysis.cli.main import main
from analysis.cli.parts.answer import Answer

ROOT = Path(__file__).parents[2]
NO_ROOM = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
pytestmark = pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")


def full(words: list[str]) -> int:
    """Exit code of the command where standard output takes nothing."""
    with open("/dev/full", "w", encoding="utf-8") as stream, pytest.MonkeyPatch.context() as patched:
        patched.setattr(sys, "stdout", stream)
        try:
            return main(words)
        except SystemExit as ended:
            return ended.code


def shell(line: str, *words: object) -> subprocess.CompletedProcess[str]:
    """The command in a shell that redirects; $P is the command."""
    start = f"P='{sys.executable} -m analysis.cli.main'; "
    return subprocess.run(
        ["bash", "-c", f"set -o pipefail; {start}{line}", "bash", *map(str, words)], capture_output=True, text=True,
        check=False, cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip


@pytest.mark.parametrize("json", [False, True])
@pytest.mark.parametrize("name", COMMANDS)
def test_no_command_ends_in_a_traceback_where_its_output_is_full(name, json, capsys, monkeypatch, tmp_path):
    """Whatever a command has found; its files are whole, and the exit code tells."""
    file = tmp_path / "a.txt"
    found = Answer("text\n" * 10_000, {"a": ["b"] * 10_000}, files=((file, lambda path: path.write_text("whole")),))
    monkeypatch.setattr(command(name), "answer", lambda request: found)
    assert full([name, *(["--json"] if json else [])]) == 2
    said = capsys.readouterr().err
    assert said.startswith("rowbench: standard output: could not be written to its end (No space left on device)")
    assert "; allowed: " in said
    assert "files that were asked for are written whole" in said
    assert file.read_text(encoding="utf-8") == "whole"


@pytest.mark.parametrize("words", [[], ["--version"], ["--help"], ["run", "--help"]])
def test_nor_help_or_version(words, capsys):
    assert full(words) == 2
    assert "standard output: could not be written" in capsys.readouterr().err


def test_what_was_shown_before_the_rest_fails_in_the_same_way(capsys, monkeypatch, tmp_path):
    from analysis.cli import verify  # noqa: PLC0415

    def answer(request):
        request.show("a part")
        return Answer("the rest", {}, files=((tmp_path / "a.txt", lambda path: path.write_text("whole")),))

    monkeypatch.setattr(verify, "answer", answer)
    assert full(["verify"]) == 2
    assert capsys.readouterr().err.count("standard output") == 1
    assert (tmp_path / "a.txt").exists()


def test_the_process_ends_so_too():
    """Python writes what it holds back when it ends: that must not fail once more."""
    done = shell("$P library > /dev/full")
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert done.stderr.startswith("rowbench: standard output: could not be written to its end")


def test_a_closed_output_is_told_before_anything_is_computed(tmp_path):
    done = shell('$P run rough --figure "$1" >&-', tmp_path / "a.png")
    assert done.returncode == 2
    assert done.stderr == (
        "rowbench: standard output: closed; allowed: one that is open; try: > FILE, or > /dev/null\n"
    )
    assert list(tmp_path.iterdir()) == []


def test_a_reader_that_has_gone_is_no_fault_and_files_are_written(tmp_path):
    done = shell('$P new "$1" | true', tmp_path / "mine")
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    assert (tmp_path / "mine.toml").stat().st_size > 1000


@pytest.mark.parametrize("way", ["2> /dev/full", "2>&-", "<&- 2>&-"])
def test_words_beside_the_result_are_by_the_way(way, tmp_path):
    done = shell(f"$P nonsense {way}")
    assert (done.returncode, done.stdout, done.stderr) == (2, "", "")
    done = shell(f"$P library --json {way}")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("{")


def test_a_full_error_stream_does_not_stop_the_work(monkeypatch, tmp_path, capsys):
    from analysis.cli import library  # noqa: PLC0415

    def answer(request):
        meter = request.meter("jobs")
        for done in range(5):
            meter(done + 1, 5)
        request.say("a word")
        return Answer("found", {})

    monkeypatch.setattr(library, "answer", answer)
    with open("/dev/full", "w", encoding="utf-8") as stream, monkeypatch.context() as patched:
        patched.setattr(sys, "stderr", stream)
        assert main(["library"]) == 0
    assert capsys.readouterr().out == "found\n"
