"""What lies on the bench written as a scenario file, into the folder that the bench was started in and nowhere else."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from analysis.bench.desk import Desk
from analysis.bench.scene import Opened, Scene, document_of
from analysis.storage.file_names import windows_refuses
from analysis.storage.safe_write import output_fault, write_all
from scenarios.changed.put_in import put_in
from scenarios.format.errors import ScenarioError, fault, shown
from scenarios.format.kept_text import Entry, edited, move_paths, says, written
from scenarios.load import load_text

LONGEST = 80  # letters of a name
SAID = "set on the bench"  # beside a value of the file
_NAME = re.compile(r"[^\W_][\w .()+-]*")  # letters of any script, figures, spaces and a few signs; no folder in it
HEAD = "# Saved from the bench of rowbench; began as {name}.\n"


class Exists(Exception):
    """A file of that name is there already. names: those that are."""

    def __init__(self, names: list[str]) -> None:
        super().__init__(", ".join(names))
        self.names = names


def save_scene(desk: Desk, scene: Scene, name: str, *, page: bool, over: bool) -> dict[str, Any]:
    """Write a scene as NAME.toml, and with `page` the report on it as NAME.html: both or none.

    over: also where such files are there. Raises Exists, and ScenarioError for a name or a scene at fault and for a
    disk that is full.
    """
    target = _target(desk.folder, name, ".toml")
    targets = [target, *([_target(desk.folder, name, ".html")] if page else [])]
    there = [path.name for path in targets if path.exists() or path.is_symlink()]
    if there and not over:
        raise Exists(there)
    opened = desk.opened(scene.file)
    text = scene_text(scene, opened, desk.folder)
    load_text(text, target)  # refused here, not by the next command
    files = [(target, lambda path: path.write_text(text, encoding="utf-8", newline="\n"))]
    if page:
        with_page = _page(text, target)
        files.append((targets[1], lambda path: path.write_text(with_page, encoding="utf-8", newline="\n")))
    try:
        write_all(files, keep_existing=not over)
    except FileExistsError as error:  # it came since it was looked for
        raise Exists([path.name for path in targets if path.exists()]) from error
    return {"written": [path.name for path in targets], "folder": str(desk.folder)}


def _page(text: str, target: Path) -> str:
    """The report on what is saved, as `rowbench report` makes it of the file."""
    from analysis.report.page import page as page_of  # noqa: PLC0415 (half a second that a bench without need not take)
    from analysis.report.report import make_report  # noqa: PLC0415

    return page_of(make_report(load_text(text, target)), datetime.now(UTC).date())


def _target(folder: Path, name: str, ending: str) -> Path:
    """Where a name on the bench is written. Raises ScenarioError for one that is more than a name."""
    stem = name.removesuffix(".toml")
    allowed = f"a name for a file in {folder}: letters, figures, spaces, - + . ( ) and _, up to {LONGEST}"
    if not _NAME.fullmatch(stem) or len(stem) > LONGEST or stem.endswith((".", " ")) or windows_refuses(stem):
        raise ScenarioError([fault("name", f"given {shown(name[:200])}", allowed, "my field")])
    path = folder / f"{stem}{ending}"
    if path.is_symlink():
        given = f"given {shown(name)}, which is a link to elsewhere"
        raise ScenarioError([fault("name", given, "a file of this folder", "another name")])
    wrong = output_fault(path, "name", (ending,))
    if wrong is not None:
        raise ScenarioError([wrong])
    return path


def scene_text(scene: Scene, opened: Opened, folder: Path) -> str:
    """A scene as the text of a file to stand in a folder; comments stay where lines show what they are at."""
    wanted = document_of(scene, opened)
    move_paths(wanted, opened.path.parent, folder)
    head = HEAD.format(name=opened.name)
    text = f"{head}{_edited(scene, opened, wanted)}"
    return text if says(text, wanted) else f"{head}\n{written(wanted, {})}"


def _edited(scene: Scene, opened: Opened, wanted: dict[str, Any]) -> str:
    """The file's own text with values put in, and its things on the ground in place of those that were there."""
    put = put_in(opened.document, opened.whole, scene.changes)
    entries = [Entry(tuple(name.split(".")), _at(wanted, name), SAID) for name in put.spelled if "." in name]
    anew: list[str] = []
    tail: list[str] = []
    for table, name, things in (("ground", "features", scene.features), ("stones", "placed", scene.stones)):
        if things is not None and list(things) != opened.document.get(table, {}).get(name, []):
            anew.append(f"{table}.{name}")
            for one in things:
                tail += ["", f"[[{table}.{name}]]", written(one, {}).rstrip()]
    if scene.roughness is not None:
        entries.append(Entry(("ground", "roughness", "class"), scene.roughness, SAID))
    body = edited(opened.text, entries, anew)
    for key in ("title", "shows"):
        if key in scene.changes:
            body = re.sub(rf"(?m)^{key}\s*=.*$", "", body, count=1)
            body = f"{written({key: wanted[key]}, {})}{body}"
    return "\n".join([body.rstrip("\n"), *tail, ""]) if tail else body


def _at(document: dict[str, Any], dotted: str) -> Any:
    value: Any = document
    for step in dotted.split("."):
        value = value[step]
    return value
