"""What a file and the files whose values it takes over say about values in doubt → `Prior`, `Uncertain`.

A file that lends values lends what it says about them: of its [prior] and its [uncertain] what is about the soil goes
with `[soil] base`, what is about the unit with `[unit] base`, what is about settings where those are lent. An own
[uncertain] stands in place of all that is lent.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from scenarios.doubt.doubtful import DOUBTFUL, TIMES
from scenarios.doubt.keys import BY_KEY, edge_of, value_at
from scenarios.doubt.prior import Prior
from scenarios.doubt.uncertain import Uncertain
from scenarios.format.assembly import Assembly
from scenarios.format.build import build
from scenarios.format.edge_units import number_text, to_edge, unit_text
from scenarios.format.errors import fault
from scenarios.format.keys import keys_of
from scenarios.format.tables import table_of

if TYPE_CHECKING:
    from scenarios.format.inherit import Lower

SAME = 1e-6  # values that differ by a smaller share of themselves are one
_UNCERTAIN = table_of(Uncertain)


def told_doubt(found: Assembly, held: Any) -> tuple[Prior, Uncertain | None]:
    """[prior] and [uncertain] of a file, faults and notes added to `found`.

    held: what has the file's soil, variation, unit, settings, ground and stones as attributes.
    """
    prior = Prior() if "prior" in found.broken else build(found.kind.root.tables["prior"], _prior(found))
    if "uncertain" in found.broken:
        return prior, None
    own = "uncertain" in found.given
    if own:
        told = build(_UNCERTAIN, found.given["uncertain"])
        faults = list(told.faults(f"{found.path}: uncertain"))
    else:
        told, faults = _lent(found)
    found.texts += faults
    if told is None or faults:
        return prior, None
    return prior, _own(found, told, held) if own else _taken(found, told, held)


def _prior(found: Assembly) -> dict[str, Any]:
    """The table [prior] with what lenders say about the values that they lend filled in."""
    tables = _tables()
    merged: dict[str, Any] = {}
    for name, lenders in found.lower.items():
        for lender in reversed(lenders):
            given = lender.document.get("prior", {})
            merged |= {key: value for key, value in given.items() if tables[key] == name}
    return merged | found.given.get("prior", {})


def _tables() -> dict[str, str]:
    """The table of a file that each key of [prior] is about."""
    about = {one.field: one.table for one in DOUBTFUL}
    return {name: about.get(key.field, "soil") for name, key in keys_of(Prior).items()}


def _lent(found: Assembly) -> tuple[Uncertain | None, list[str]]:
    """What the nearest lender of each table that has an [uncertain] says about it; of one file all together."""
    about: dict[str, tuple[Lower, list[str]]] = {}
    for name, lenders in found.lower.items():
        lender = next((below for below in lenders if "uncertain" in below.document), None)
        if lender is not None:
            about.setdefault(str(lender.path), (lender, []))[1].append(name)
    told, faults = None, []
    for lender, names in about.values():
        whole = build(_UNCERTAIN, lender.document["uncertain"])
        wrong = list(whole.faults(f"{lender.path}: uncertain"))
        faults += wrong
        if not wrong:
            part = whole.only([key for key in whole.keys if BY_KEY[key].table in names]).about(names)
            told = part if told is None else told.beside(part)
    return told, faults


def _own(found: Assembly, told: Uncertain, held: Any) -> Uncertain | None:
    """An own [uncertain]; None where the file's values are no longer those that it is about, which is a fault."""
    if found.broken.intersection(told.tables):
        return None
    faults = [
        fault(f"{found.path}: {key}", f"{given} here, while [uncertain] is about {centre}", "the value that was fitted",
              f"{centre}, or rowbench fit again, or [uncertain] left out")
        for key, given, centre in _others(told, held)
    ]  # fmt: skip
    found.texts += faults
    return None if faults else told


def _taken(found: Assembly, told: Uncertain, held: Any) -> Uncertain:
    """A lent [uncertain] without the values that this file has otherwise; that is noted."""
    if found.broken.intersection(told.tables):
        return told
    others = list(_others(told, held))
    for key, given, centre in others:
        found.notes.append(
            f"{key} is {given} here and {centre} where it was fitted: how far it is in doubt is assumed ([prior])"
        )
    names = [key for key, _, _ in others]
    return told.only([key for key in told.keys if key not in names]).without(names)


def _others(told: Uncertain, held: Any) -> Iterator[tuple[str, str, str]]:
    """Keys whose value is another one than the centre: key, what the file says, what [uncertain] says."""
    for key, centre in zip(told.keys, told.centre, strict=True):
        one = BY_KEY[key]
        edge = edge_of(one)
        if one.name == "roughness" and held.ground.roughness is None:
            yield key, "not given", f"{number_text(centre)}{unit_text(edge)}"
            continue
        value = to_edge(value_at(held, one.paths[0]), edge)
        if abs(value - centre) > SAME * (abs(centre) if one.way == TIMES else max(abs(centre), 1.0)):
            yield key, f"{number_text(value)}{unit_text(edge)}", f"{number_text(centre)}{unit_text(edge)}"
