"""Values by dotted name put into a document, parts that move together with them, and what they stand in place of."""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from scenarios.changed.names import Named, find_name
from scenarios.format.edge_units import number_text
from scenarios.format.errors import ScenarioError, fault, shown
from scenarios.format.tables import ROOT, Table
from scenarios.together import MOVES

# what every screen says by itself: the setting, the ground's number, what is searched; and names
SAID = ("settings.oil_pressure_bar", "settings.speed_kmh", "ground.seed", "search.", "title", "shows", "uncertain.")
FIGURES = 12  # of a value that was moved by as much as another


@dataclass(frozen=True)
class Change:
    """One value in place of a file's, in edge units. name: as it was asked for; before None: the file had none.

    moved: what moved with it, dotted name → (value, before).
    """

    name: str
    value: Any
    before: Any
    moved: Mapping[str, tuple[Any, Any]] = field(default_factory=dict)

    @property
    def text(self) -> str:
        """The change in words.

        >>> Change("unit.disc.edge_width_mm", 4, 5.0).text
        'unit.disc.edge_width_mm = 4 in place of 5'
        """
        with_it = [_in_place(name, *values) for name, values in self.moved.items()]
        moved = f" (with it {' and '.join(with_it)})" if with_it else ""
        return f"{_in_place(self.name, self.value, self.before)}{moved}"


@dataclass(frozen=True)
class PutIn:
    """A document with values put in. spelled: them by the keys of the file, moves and coordinates told apart; asked: by
    each of these keys the name that it was asked for by; faults: of names that go against each other.
    """

    document: dict[str, Any]
    spelled: dict[str, Any]
    asked: dict[str, str]
    changes: tuple[Change, ...]
    faults: tuple[str, ...]


def put_in(
    document: dict[str, Any], laid: Mapping[str, Any], changes: Mapping[str, Any], root: Table = ROOT
) -> PutIn:  # fmt: skip
    """Values (edge units) by dotted name put into a document; nothing is checked but that no key is given twice.

    laid: the document with what its tables take over, for what was there before.
    """
    spelled: dict[str, Any] = {}
    by: dict[tuple[str, int | None], str] = {}
    asked: dict[str, str] = {}
    told, faults = [], []
    for name, value in changes.items():
        for number, (one, its) in enumerate(_moved(name, value, laid, root).items()):
            found = find_name(one, root)
            whole = one if found is None else ".".join(found.path)
            part = None if found is None else found.part
            other = next(
                (was for (key, at), was in by.items() if key == whole and (at == part or None in (at, part))), ""
            )
            if other:
                faults.append(fault(name, f"given beside {other}: {one} twice", "each value once", "one of the two"))
                continue
            by[whole, part], asked[whole] = name, name
            spelled[whole] = its if part is None else _with_part(spelled.get(whole), found, its, laid)
            if not number:
                told.append(Change(name, value, _before(found, laid), _others(name, value, laid, root)))
    return PutIn(_put(document, spelled), spelled, asked, tuple(told), tuple(faults))


def put_twice(
    document: dict[str, Any], laid: Callable[[dict[str, Any]], dict[str, Any]], kept: Mapping[str, Any],
    changes: Mapping[str, Any],
) -> PutIn:  # fmt: skip
    """As `put_in`, of changes on top of others that were `kept`; laid: a document → it with all that it takes over."""
    first = put_in(document, laid(document) if kept else {}, kept)
    if not changes:
        return first
    then = put_in(first.document, laid(first.document), changes)
    left = tuple(one for one in first.changes if one.name not in changes)
    return replace(
        then, spelled={**first.spelled, **then.spelled}, asked={**first.asked, **then.asked},
        changes=(*left, *then.changes), faults=(*first.faults, *then.faults),
    )  # fmt: skip


def said(changes: tuple[Change, ...]) -> str:
    """The changes that are worth it, as they stand behind a title; "" where there are none."""
    texts = [one.text for one in worth_saying(changes)]
    return f", with {'; '.join(texts)}" if texts else ""


def worth_saying(changes: tuple[Change, ...]) -> list[Change]:
    """Those that no screen says by itself; a change back to what the file says is none."""
    return [one for one in changes if not one.name.startswith(SAID) and one.value != one.before]


def asked_fault(text: str, path: Path, put: PutIn) -> str:
    """A fault of a value that came from outside does not blame the file."""
    for dotted, name in put.asked.items():
        steps = dotted.split(".")
        for place in (".".join(steps[:count]) for count in range(len(steps), 0, -1)):
            rest = text.removeprefix(f"{path}: {place}")
            if rest != text and rest[0] in ":[":
                through = "" if name == dotted else f", by {name}"
                where = place if place == dotted else f"{dotted}: {place}"
                item, _, told = rest.partition(":")
                return f"{where}{item} (in place of the file's{through}):{told}"
    return text


def _moved(name: str, value: Any, laid: Mapping[str, Any], root: Table) -> dict[str, Any]:
    """A name and its value, or the members of a move with theirs, the first of them first."""
    move = MOVES.get(name)
    if move is None:
        return {name: value}
    first, *others = move.members
    old = _before(find_name(first, root), laid)
    if any(isinstance(one, bool) or not isinstance(one, int | float) for one in (value, old)):
        return {first: value}  # that the file's own check refuses
    return {first: value} | {
        one: float(f"{_before(find_name(one, root), laid) + (value - old):.{FIGURES}g}") for one in others
    }


def _others(name: str, value: Any, laid: Mapping[str, Any], root: Table) -> dict[str, tuple[Any, Any]]:
    members = list(_moved(name, value, laid, root).items())[1:]
    return {one: (its, _before(find_name(one, root), laid)) for one, its in members}


def _before(found: Named | None, laid: Mapping[str, Any]) -> Any:
    """What a document with all that it takes over has at a key, else its default; None where there is none."""
    if found is None:
        return None
    place: Any = laid
    for step in found.path:
        place = place.get(step) if isinstance(place, Mapping) else None
    if place is None:
        place = found.key.default
    if found.part is None:
        return list(place) if isinstance(place, tuple) else place
    return place[found.part] if isinstance(place, list | tuple) and len(place) == 2 else None


def _with_part(pair: Any, found: Named | None, value: Any, laid: Mapping[str, Any]) -> list[Any]:
    """A point with one coordinate in place of its own; pair: as it is so far, None: the document's."""
    assert found is not None
    assert found.part is not None
    made = list(pair) if pair is not None else [_before(found._replace(part=i), laid) for i in (0, 1)]
    made[found.part] = value
    return made


def _put(document: dict[str, Any], values: Mapping[str, Any]) -> dict[str, Any]:
    """A copy of a document with single values put in by their dotted keys."""
    result = copy.deepcopy(document)
    for dotted, value in values.items():
        *tables, key = dotted.split(".")
        place = result
        for name in tables:
            inner = place.setdefault(name, {})
            if not isinstance(inner, dict):
                raise ScenarioError(
                    [fault(dotted, f"changed to {shown(value)}", f"a key in a table; {name} is none", "another key")]
                )
            place = inner
        place[key] = value
    return result


def _overlap(one: int | None, other: int | None) -> bool:
    """Whether two parts of a key, None: the whole of it, are in each other's way."""
    return one == other or one is None or other is None


def _in_place(name: str, value: Any, before: Any) -> str:
    was = "where the file has none" if before is None else f"in place of {change_value(before)}"
    return f"{name} = {change_value(value)} {was}"


def change_value(value: Any) -> str:
    """A value as it would stand in a file, numbers as short as they go."""
    if isinstance(value, bool) or not isinstance(value, int | float | list | tuple):
        return "none" if value is None else shown(value)
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(change_value, value))}]"
    return number_text(value)
