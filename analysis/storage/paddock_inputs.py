"""What went into a stored paddock, and what its rows failed with or warn of: JSON of the file, checked."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import fields
from typing import Any, NamedTuple

from analysis.storage.stored_values import Unfit, items, made, number, text, whole
from scenarios.doubt.prior import Prior
from scenarios.doubt.uncertain import Uncertain
from scenarios.paddock.spec import Keep, PaddockMachine, Passes, PlanGround, PlanStones, Tried, Zone
from scenarios.spec import Limits, Variation
from sim.heeds import KINDS, Heed
from sim.unit import Settings, Soil, Unit

PARTS: dict[str, Any] = {
    "unit": Unit, "soil": Soil, "variation": Variation, "settings": Settings, "machine": PaddockMachine,
    "passes": Passes, "ground": PlanGround, "stones": PlanStones, "search": Tried, "keep": Keep,
}  # fmt: skip
BESIDE = ("zones", "depth_tolerance", "files")
DOUBT = ("uncertain", "prior")  # where the file leaves values in doubt
MANY = 10_000_000  # problems, rows


class PaddockInputs(NamedTuple):
    """The parts of a paddock file that decide the numbers; `raw`: as they stand in the file, SI units."""

    raw: dict[str, Any]
    machine: PaddockMachine
    passes: Passes
    ground: PlanGround
    search: Tried
    keep: Keep
    zones: tuple[Zone, ...]


class Sizes(NamedTuple):
    """How many settings, passes and rows there are."""

    settings: int
    passes: int
    rows: int


def checked_inputs(found: Any, fingerprint: str) -> PaddockInputs:
    """From `analysis.paddock.fingerprint.inputs` by way of JSON. Raises Unfit."""
    where = "inputs/inputs_si"
    if not isinstance(found, Mapping) or set(found) not in ({*PARTS, *BESIDE}, {*PARTS, *BESIDE, *DOUBT}):
        raise Unfit(where, "other groups", ", ".join((*PARTS, *BESIDE)))
    if "uncertain" in found:
        _check_uncertain(found["uncertain"], f"{where}: uncertain")
        made(Prior, found["prior"], f"{where}: prior")
    parts = {name: made(shape, found[name], f"{where}: {name}") for name, shape in PARTS.items()}
    zones = tuple(made(Zone, zone, f"{where}: zones") for zone in items(found["zones"], where, 127))
    number(found["depth_tolerance"], f"{where}: depth_tolerance", 0.001, 0.05)
    if not isinstance(found["files"], Mapping):
        raise Unfit(f"{where}: files", "no names", "digests of files by name")
    for name, digest in found["files"].items():
        text(name, f"{where}: files")
        text(digest, f"{where}: files", 64)
    search = parts["search"]
    if not search.pressures or not search.speeds:
        raise Unfit(f"{where}: search", "no settings", "pressures and speeds")
    if hashlib.sha256(json.dumps(found, sort_keys=True).encode()).hexdigest() != fingerprint:
        raise Unfit("fingerprint", "not that of the inputs", "the digest of inputs/inputs_si")
    return PaddockInputs(
        dict(found), parts["machine"], parts["passes"], parts["ground"], search, parts["keep"], zones
    )  # fmt: skip


def _check_uncertain(found: Any, where: str) -> None:
    """Raises Unfit where it is not what a file's [uncertain] says."""
    if not isinstance(found, Mapping) or set(found) != {item.name for item in fields(Uncertain)}:
        raise Unfit(where, "other groups", ", ".join(item.name for item in fields(Uncertain)))
    for name in ("keys", "tables", "given_up"):
        for one in items(found[name], f"{where}.{name}", 1000):
            text(one, f"{where}.{name}", 200)
    for name in ("centre", "spread"):
        for value in items(found[name], f"{where}.{name}", 1000):
            number(value, f"{where}.{name}", -1e18, 1e18)
    for row in items(found["correlation"], f"{where}.correlation", 1000):
        for value in items(row, f"{where}.correlation", 1000):
            number(value, f"{where}.correlation", -1.001, 1.001)
    whole(found["readings"], f"{where}.readings", 0, 10**6)
    text(found["version"], f"{where}.version", 200)


def checked_limits(found: Any) -> Limits:
    """The limits that the paddock file set. Raises Unfit."""
    limits: Limits = made(Limits, found, "inputs/limits_si")
    if limits.on_feature:
        raise Unfit("inputs/limits_si.on_feature", "true", "false: a paddock is judged by shares of the way")
    return limits


def checked_warnings(found: Any) -> tuple[str, ...]:
    """Sentences. Raises Unfit."""
    return tuple(text(said, "inputs/warnings", 5000) for said in items(found, "inputs/warnings", 10_000))


def checked_problems(found: Any, sizes: Sizes) -> tuple[tuple[int, int, int, str], ...]:
    """Setting, pass, row and why it could not be crossed. Raises Unfit."""
    where, checked = "inputs/problems", []
    for item in items(found, where, MANY):
        if len(items(item, where, 4)) != 4:
            raise Unfit(where, f"{len(item)} things", "setting, pass, row and reason")
        places = (whole(item[k], where, 0, size - 1) for k, size in enumerate(sizes))
        checked.append((*places, text(item[3], where, 5000)))
    return tuple(checked)  # type: ignore[arg-type]


def checked_heeds(found: Any, sizes: Sizes) -> list[tuple[int, Heed, int, int, int, bool]]:
    """What rows warn of, as `analysis.paddock.heeds.plain` gave it: setting, warning, pass, row, rows, all alike."""
    where, checked = "inputs/heeds", []
    for item in items(found, where, MANY):
        if len(items(item, where, 6)) != 6 or len(items(item[1], where, 4)) != 4:
            raise Unfit(where, f"{len(item)} things", "setting, warning, pass, row, rows, alike")
        setting, (kind, said, size, barred), place, row, rows, alike = item
        if kind not in KINDS or not isinstance(barred, bool) or not isinstance(alike, bool):
            raise Unfit(where, "a warning of another kind", ", ".join(KINDS))
        heed = Heed(kind, text(said, where, 5000), number(size, where, -1e18, 1e18), barred)
        checked.append((
            whole(setting, where, 0, sizes.settings - 1), heed, whole(place, where, 0, sizes.passes - 1),
            whole(row, where, 0, sizes.rows - 1), whole(rows, where, 1, MANY), alike,
        ))  # fmt: skip
    return checked
