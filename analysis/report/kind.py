"""Which command wrote a stored result: a run or a whole paddock."""

from __future__ import annotations

from pathlib import Path

from analysis.paddock.store_parts import parts_folder, read_about
from analysis.storage.description import opened
from analysis.storage.paddock_layout import FORMAT as PADDOCK
from analysis.storage.paddock_layout import description
from analysis.storage.run_table import RUN as described_run
from scenarios.format.errors import ScenarioError, refused

__all__ = ["PADDOCK", "kind_of"]


def kind_of(path: Path) -> str:
    """`RUN` or `PADDOCK`. Raises ScenarioError: missing, not finished, damaged, or of another kind."""
    if not path.exists() and parts_folder(path).is_dir():
        raise _unfinished(path)
    with opened(path, described_run, description()) as stored:
        return stored.described.format


def _unfinished(path: Path) -> ScenarioError:
    """A paddock that was stopped: how far it is."""
    about = read_about(path)
    kept = len(list(parts_folder(path).glob("pass-*.npz")))
    given = f"not finished: {kept} of {about['passes']} passes of {about['name']}"
    return refused(path, given, "a finished result", f"rowbench paddock FILE --out {path} again: it goes on")
