"""Faults of a file in words: finds the key that a schema error is about and says what is allowed there."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

from scenarios.format.edge_units import number_text, unit_text
from scenarios.format.errors import closest, fault, shown
from scenarios.format.keys import LISTS, Key
from scenarios.format.tables import ROOT, FileKind, Table, Variants, walk
from scenarios.format.written import toml_value

OUT_OF_RANGE = "is out of range"


class Fault(NamedTuple):
    """A fault as text, and the path of the table it lies in (for checks that need that table whole)."""

    path: tuple[str, ...]
    text: str


class Place(NamedTuple):
    """Where a schema error lies: dotted name, the table around it, its key (None: a table, a list or unknown)."""

    dotted: str
    table: Table
    key: Key | None
    path: tuple[str, ...]
    header: str  # how the table around it is opened in a file
    variants: Variants | None = None  # what may stand in the list that it is an item of, if it is that itself


def locate(loc: Sequence[str | int], root: Table = ROOT) -> Place:
    """Follow the location of a schema error down the tree of tables.

    >>> locate(("ground", "features", 1, "hump", "height_mm")).dotted
    'ground.features[1].height_mm'
    """
    table, key, item = root, None, None
    dotted, header = "", ""
    path: tuple[str, ...] = ()
    parts = list(loc)
    while parts:
        part = parts.pop(0)
        if isinstance(part, int):
            dotted += f"[{part}]"
            continue
        dotted += f".{part}" if dotted else part
        if part in table.lists:
            variants = table.lists[part]
            path, header = (*path, part), f"[[{'.'.join((*path, part))}]]"
            item = variants if len(parts) == 1 else None
            if parts:
                dotted += f"[{parts.pop(0)}]"
            tag = parts.pop(0) if variants.tag and parts else ""
            table = variants.tables.get(str(tag), Table("", lists={}))
        elif part in table.tables:
            table = table.tables[part]
            path, header = (*path, part), f"[{'.'.join((*path, part))}]"
        else:
            key = table.keys.get(part)
    return Place(dotted, table, key, path, header, item)


def fault_of(error: Any, file: str, of: FileKind) -> Fault:
    """The fault that one item of pydantic's `errors()` stands for."""
    place = locate(error["loc"], of.root)
    where = f"{file}: {place.dotted or 'the file'}"
    kind, given = error["type"], error["input"]
    if kind == "extra_forbidden":
        text = fault(where, "unknown key", *_known(str(error["loc"][-1]), place, of))
    elif kind in ("union_tag_invalid", "union_tag_not_found"):
        text = _kind_fault(where, error, place, of)
    elif kind == "missing":
        text = fault(where, "missing", *_missing(str(error["loc"][-1]), place, of))
    elif place.key is None:
        text = fault(where, f"given {shown(given)}", *_container(place))
    else:
        reason = str(error.get("ctx", {}).get("error", "")) if kind == "value_error" else ""
        text = _told(where, _given(given, reason, place.key), place.key, given)
    return Fault(place.path, text)


def _given(given: Any, reason: str, key: Key) -> str:
    """What was given and what is wrong with it; of a list of values, the one that is out of range."""
    if key.kind == "series" and isinstance(given, list):
        outside = [v for v in given if isinstance(v, int | float) and not key.low <= v <= key.high]
        if outside and reason.endswith(OUT_OF_RANGE):
            return f"given {shown(outside[0])}"
    return f"given {shown(given)}" + (f" ({reason})" if reason else "")


def value_fault(where: str, key: Key, given: Any) -> str:
    """The fault of a value (edge unit) that a key does not accept."""
    return _told(where, f"given {shown(given)}", key, given)


def _told(where: str, note: str, key: Key, given: Any) -> str:
    return fault(where, note, f"{key.allowed} ({key.doc})", _hint(key, given))


def _known(word: str, place: Place, of: FileKind) -> tuple[str, str]:
    """Names that a table allows, and the one that an unknown name may have meant."""
    names = place.table.names
    allowed = f"{place.header or of.top} takes {_listed(names)}"
    near = closest(word, names) or next((n for n in names if n.startswith(f"{word}_") or f"_{word}_" in n), None)
    if near:
        return allowed, f'"{near}"'
    elsewhere = sorted({".".join(path) for path, key in walk(of.root) if key.name == word and path})
    if elsewhere:
        return allowed, f"{word} belongs in [{elsewhere[0]}]"
    far = closest(word, [key.name for _, key in walk(of.root)])
    return allowed, f'"{far}" of another table, or remove the key' if far else "remove the key"


def _listed(names: Iterable[str]) -> str:
    items = list(names)
    return ", ".join(items) if len(items) <= 14 else ", ".join(items[:13]) + f" and {len(items) - 13} more"


def _kind_fault(where: str, error: Any, place: Place, of: FileKind) -> str:
    """An item of a list without kind, or of a kind that does not exist."""
    assert place.variants is not None
    tag, kinds = place.variants.tag, list(place.variants.tables)
    allowed = ", ".join(f'"{kind}"' for kind in kinds)
    if error["type"] == "union_tag_not_found":
        return fault(f"{where}.{tag}", "missing", allowed, f'{tag} = "{kinds[0]}"')
    given = str(error["ctx"]["tag"])
    near = closest(given, kinds) or kinds[0]
    hint = f'{tag} = "{near}"' if of.kind_in_full else f'"{near}"'
    return fault(f"{where}.{tag}", f"given {shown(given)}", allowed, hint)


def _missing(name: str, place: Place, of: FileKind) -> tuple[str, str]:
    if place.key is None:
        return f"a table [{name}]", f"add [{name}] with {of.needs[name]}"
    return f"{place.key.allowed} ({place.key.doc})", f"add {name} = {_example(place.key)}"


def _container(place: Place) -> tuple[str, str]:
    """What stands where a table or a list of tables was expected."""
    head = place.header or "the file"
    what = "tables" if head.startswith("[[") and place.variants is None else "a table"
    return f"{what} {head}", f"write {head} on a line of its own, with its keys under it"


def _example(key: Key) -> str:
    """A value that would do."""
    if key.kind == "text":
        return '"..."'
    if key.kind == "choice":
        return f'"{key.choices[0]}"'
    if key.kind in LISTS:
        return toml_value(key.example)
    value = key.example if key.default is None else key.default
    return _list_text(value) if isinstance(value, tuple) else number_text(value)


def _list_text(values: Iterable[float]) -> str:
    return f"[{', '.join(number_text(v) for v in values)}]"


def _hint(key: Key, given: Any) -> str:
    """What to try instead of a value that a key does not allow."""
    if key.kind == "choice":
        same = [word for word in key.choices if word.lower() == str(given).lower()]
        return f'"{(same or [closest(str(given), key.choices) or key.default or key.choices[0]])[0]}"'
    if key.kind == "text":
        kept = "".join(sign for sign in given if sign.isprintable()) if isinstance(given, str) else ""
        return f'"{kept}"' if kept and kept != given else "a text in quotes"
    if key.kind in ("pair", "series") or key.kind in LISTS:
        return _list_hint(key)
    default = "" if key.default is None else f"{number_text(key.default)} (the default)"
    value = _as_float(given)
    if math.isnan(value):
        return default or "a number without quotes"
    return " or ".join([text for text in (_scaled(key, value), default) if text]) or _nearest(key, value)


def _as_float(given: Any) -> float:
    """A number, infinite where it is too large for one; NaN for whatever is none."""
    if isinstance(given, bool) or not isinstance(given, int | float):
        return math.nan
    try:
        return float(given)
    except OverflowError:
        return math.inf if given > 0 else -math.inf


def _list_hint(key: Key) -> str:
    if key.kind in LISTS:
        return toml_value(key.example)
    if key.kind == "series":
        return f'"{number_text(key.default[0])}:{number_text(key.default[-1])}:{len(key.default)}"'
    if key.default is None:
        return "[least, most]" if key.rising else f"[{key.axes}]"
    return f"{_list_text(key.default)} (the default)"


def _scaled(key: Key, given: float) -> str:
    """Notices a figure that would be right in the next unit, up or down by a thousand."""
    for factor in (1000.0, 0.001):
        value = given * factor
        if key.low < value < key.high and key.kind == "number" and key.edge != "1":
            return f"{number_text(float(f'{value:.6g}'))}{unit_text(key.edge)} (is it in the wrong unit?)"
    return ""


def _nearest(key: Key, given: float) -> str:
    return number_text(key.low if given < key.low else key.high)
