"""What lies on the bench: a file as it was opened, with values, ground and stones put in by hand.

A scene is plain data that the page holds and sends with every question; the program keeps nothing of it. It stands for
one document of a scenario file: what is crossed is what would be written.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from scenarios.changed.put_in import put_in
from scenarios.format.errors import ScenarioError, fault, shown
from scenarios.format.read import parse_toml, read_text
from scenarios.format.tables import SCENARIO
from scenarios.format.whole import whole_document
from scenarios.ground.spec_ground import NO_ROUGHNESS, ROUGHNESS_CLASSES

MOST_THINGS = 200  # features, and placed stones, of a scene
MOST_CHANGES = 400
AGAIN = "load the page again"


@dataclass(frozen=True)
class Scene:
    """What the page sends. features, stones, roughness: in place of the file's; None: as the file has them.

    changes: values by dotted key in edge units; features: items of [[ground.features]]; stones: of [[stones.placed]];
    roughness: a class of ISO 8608 or "none".
    """

    file: str
    changes: Mapping[str, Any] = field(default_factory=dict)
    features: tuple[Mapping[str, Any], ...] | None = None
    stones: tuple[Mapping[str, Any], ...] | None = None
    roughness: str | None = None


@dataclass(frozen=True)
class Opened:
    """A file as it was read. whole: its document with all that its tables take over."""

    name: str
    path: Path
    text: str
    document: dict[str, Any]
    whole: dict[str, Any]


def open_text(name: str, path: Path) -> Opened:
    """Read a scenario file. Raises ScenarioError where it cannot be read."""
    text = read_text(path, "a scenario file (TOML)")
    document = parse_toml(text, path)
    return Opened(name, path, text, document, whole_document(document, path, SCENARIO))


def scene_of(sent: Any) -> Scene:
    """A scene from what a page sent (JSON). Raises ScenarioError for anything else."""
    faults: list[str] = []
    if not isinstance(sent, dict) or not isinstance(sent.get("file"), str):
        given = f"given {shown(str(sent))[:80]}"
        raise ScenarioError([fault("scene", given, "a scene with its file", AGAIN)])
    changes = sent.get("changes", {})
    if not isinstance(changes, dict) or len(changes) > MOST_CHANGES or not all(map(_is_value, changes.values())):
        faults.append(fault("scene.changes", "something else", f"up to {MOST_CHANGES} values by key", AGAIN))
    lists = {name: _things(sent, name, faults) for name in ("features", "stones")}
    rough = sent.get("roughness")
    if rough is not None and rough not in (*ROUGHNESS_CLASSES, NO_ROUGHNESS):
        allowed = f"{', '.join(ROUGHNESS_CLASSES)} or {NO_ROUGHNESS}"
        faults.append(fault("scene.roughness", f"given {shown(str(rough))}", allowed, "D"))
    if faults:
        raise ScenarioError(faults)
    return Scene(sent["file"], dict(changes), roughness=rough, **lists)


def _things(sent: Mapping[str, Any], name: str, faults: list[str]) -> tuple[Mapping[str, Any], ...] | None:
    held = sent.get(name)
    if held is None:
        return None
    whole = isinstance(held, list) and all(isinstance(one, dict) and all(map(_is_value, one.values())) for one in held)
    if not whole or len(held) > MOST_THINGS:
        faults.append(fault(f"scene.{name}", "something else", f"up to {MOST_THINGS} of them", AGAIN))
        return None
    return tuple(held)


def _is_value(value: Any) -> bool:
    """Whether JSON's value may stand in a file: a number, a text, a list of numbers."""
    if isinstance(value, list):
        return all(isinstance(one, int | float) and _is_value(one) for one in value)
    return isinstance(value, str | bool) or (isinstance(value, int | float) and math.isfinite(value))


def document_of(scene: Scene, opened: Opened) -> dict[str, Any]:
    """The document that a scene stands for. Raises ScenarioError for values that go against each other."""
    put = put_in(opened.document, opened.whole, scene.changes)
    if put.faults:
        raise ScenarioError(put.faults)
    made = copy.deepcopy(put.document)
    _list(made, "ground", "features", scene.features)
    _list(made, "stones", "placed", scene.stones)
    if scene.roughness is not None:
        ground = made.setdefault("ground", {})
        kept = {k: v for k, v in ground.get("roughness", {}).items() if not k.startswith("gd_")}
        ground["roughness"] = {**kept, "class": scene.roughness}
    return made


def _list(made: dict[str, Any], table: str, name: str, things: tuple[Mapping[str, Any], ...] | None) -> None:
    if things is None:
        return
    inside = made.setdefault(table, {})
    inside.pop(name, None)
    if things:
        inside[name] = [dict(one) for one in things]
    elif not inside:
        del made[table]
