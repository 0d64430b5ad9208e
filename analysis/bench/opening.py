"""What the bench shows of a file when it is opened: at most some 120 m of it, with what is told of the rest."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from analysis.bench.scene import Opened, Scene, document_of
from scenarios.format.library import find, named
from scenarios.load import load_document
from scenarios.scenario import Scenario

USUAL, MOST = 40.0, 120.0  # ground on the bench where a file has more than it can follow a finger on [m]
ROOM = 5.0  # behind the last thing on it [m]
PLACES = ("at_m", "start_m", "end_m")


def first_scene(opened: Opened) -> tuple[Scene, tuple[str, ...]]:
    """The scene of a file just opened, and what is told of it. Raises ScenarioError with every fault of the file."""
    features = tuple(opened.document.get("ground", {}).get("features", ()))
    stones = tuple(opened.document.get("stones", {}).get("placed", ()))
    bare = Scene(opened.name)
    scenario = load_document(document_of(bare, opened), opened.path)
    scene = Scene(opened.name, features=features, stones=stones)
    if scenario.length <= MOST + 1e-9:
        return scene, ()
    start = scenario.x_from
    reach = [_last(one) for one in (*features, *stones)]
    last = max((place for place in reach if start <= place <= start + MOST - ROOM), default=start)
    length = max(USUAL, min(MOST, float(round(last + ROOM - start))))
    kept = [tuple(one for one in things if _first(one) <= start + length) for things in (features, stones)]
    scene = Scene(opened.name, {"ground.length_m": length}, kept[0], kept[1])
    return scene, tuple(_told(scenario, length, len(features) + len(stones) - len(kept[0]) - len(kept[1])))


def _told(scenario: Scenario, length: float, left_out: int) -> list[str]:
    told = [f"the file has {scenario.length:g} m of ground, the bench crosses {length:g} m"]
    if scenario.profile is not None:
        told[0] += " of it, from its beginning"
    elif scenario.ground.roughness is not None:
        told[0] += " with humps and hollows drawn anew: as rough, but not the same"
    if left_out:
        told.append(f"{left_out} of its features or stones lie behind that and are left out")
    return told


def _first(thing: Mapping[str, Any]) -> float:
    """Where a feature or a stone begins [m]; −∞ for one that lies everywhere."""
    found = [thing[name] for name in PLACES[:2] if isinstance(thing.get(name), int | float)]
    return min(found, default=float("-inf"))


def _last(thing: Mapping[str, Any]) -> float:
    found = [thing[name] for name in PLACES if isinstance(thing.get(name), int | float)]
    return max(found, default=float("-inf"))


def named_file(name: str, folder: Path, given: str) -> Path | None:
    """The file that a name on the bench means: the one given on the command line, one of the folder, of the library.

    None for any other name, and for whatever leads out of the folder. Raises ScenarioError where the one that was given
    is no name of the library.
    """
    path = folder / name
    if name == given:
        return path if path.is_file() else find(name, "scenario", where="scenario")
    if Path(name).name == name and name.endswith(".toml"):
        return path if path.is_file() and path.resolve().parent == folder.resolve() else None
    return named("scenario", name) if name.isidentifier() else None
