"""The command line called within the test's own process, and what it says."""

from __future__ import annotations

import json
from typing import Any

from analysis.cli.main import main


def answer(capsys, *words: object) -> Any:
    """Exit code 0, and the one JSON document on standard output."""
    return json.loads(text(capsys, *words, "--json"))


def text(capsys, *words: object) -> str:
    """Exit code 0, and standard output."""
    capsys.readouterr()  # what stood there before
    code = main([str(word) for word in words])
    out, err = capsys.readouterr()
    assert code == 0, err
    return out


def refused(capsys, *words: object) -> str:
    """The message of a call that is refused: exit code 2, no traceback, nothing on standard output."""
    capsys.readouterr()  # what stood there before
    assert main([str(word) for word in words]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("rowbench: ")
    assert "Traceback" not in err
    return err
