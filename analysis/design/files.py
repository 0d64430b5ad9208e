"""Each design of the front as a file that can be run: the file that was read, with its values in it."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path

from analysis.design.judged import Judged
from analysis.design.search import Search
from scenarios.changed.put_in import put_in
from scenarios.format.kept_text import Entry, edited, move_paths, says, written
from scenarios.format.tables import SCENARIO
from scenarios.format.whole import whole_document

HEAD = '# Written by rowbench design from {file}: values marked "searched" differ from it.{doubt}\n'
DROPPED = " [uncertain] is left out: it was about other values."


def file_names(found: Search) -> list[str]:
    """Names of the files, in the order of the front."""
    digits = max(2, len(str(len(found.front))))
    return [f"design_{number:0{digits}d}.toml" for number in range(1, len(found.front) + 1)]


def design_text(found: Search, one: Judged, folder: Path) -> str:
    """Text of a design's file, to stand in a folder; comments of the file that was read stay where lines show them."""
    scenario = found.space.scenario
    source = scenario.source
    assert source is not None
    document = tomllib.loads(source.text)
    searched = dict(found.space.changes(one.point))
    asked = {change.name: change.value for change in scenario.replaced if change.name not in searched} | searched
    if scenario.settings.setting != "redone":
        asked["settings.setting"] = "redone"
    put = put_in(document, whole_document(document, scenario.path, SCENARIO, source.chains), asked)
    wanted = put.document
    doubt = DROPPED if wanted.pop("uncertain", None) else ""
    move_paths(wanted, scenario.path.parent, folder)
    entries = [Entry(tuple(name.split(".")), value, _said(put.asked[name], searched)) for name, value in
               put.spelled.items()]  # fmt: skip
    head = HEAD.format(file=scenario.path.name, doubt=doubt)
    text = f"{head}{edited(source.text, entries, ('uncertain',))}"
    if says(text, wanted):
        return text
    return f"{head}\n{written(wanted, {entry.keys: entry.said for entry in entries})}"


def _said(name: str, searched: Mapping[str, float]) -> str:
    return "searched" if name in searched else "asked for"
