"""Every value that the result rests on, with its meaning and where it comes from."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import MISSING, Field, dataclass, fields, is_dataclass
from typing import Any

from scenarios.format.edge_units import to_edge, unit_text
from scenarios.format.keys import SETTINGS_META
from scenarios.scenario import Scenario

GIVEN = "given in the scenario file"


@dataclass(frozen=True)
class Assumption:
    """One value in the trade's unit."""

    name: str
    value: str
    meaning: str
    source: str

    @property
    def known(self) -> bool:
        """Whether it is more than an assumption: given in the file, or with a source of its own."""
        return self.source != "assumed"


def assumptions(scenario: Scenario) -> list[tuple[str, list[Assumption]]]:
    """Groups of values in the order of a scenario file: (title, values)."""
    found: list[tuple[str, Any]] = [
        ("Settings", scenario.settings),
        ("Soil", scenario.soil),
        ("Strength along the track", scenario.variation),
        ("Stones", scenario.stones),
        ("Machine", scenario.machine),
        ("Limits", scenario.limits),
        *unit_groups(scenario.unit),
        *([] if scenario.uncertain is not None else [("In doubt where nobody measured", scenario.prior)]),
    ]
    rough = scenario.ground.roughness
    if rough is not None:
        found.insert(3, ("Roughness of the ground", rough))
    return listed(found)


def listed(groups: Iterable[tuple[str, Any]]) -> list[tuple[str, list[Assumption]]]:
    """Values of dataclasses by title; groups without a described value are left out."""
    return [(title, rows) for title, group in groups if (rows := list(_rows(group)))]


def unit_groups(unit: Any) -> Iterator[tuple[str, Any]]:
    """The parts of a unit by title."""
    for part in fields(unit):
        yield f"Unit: {part.name.replace('_', ' ')}", getattr(unit, part.name)


def _rows(group: Any) -> Iterator[Assumption]:
    for item in fields(group):
        value = getattr(group, item.name)
        if is_dataclass(value):
            yield from _rows(value)
            continue
        meta = item.metadata or SETTINGS_META.get(item.name, {})
        if not meta or value is None or (isinstance(value, tuple) and not _numbers(value)):
            continue
        source = GIVEN if value != _default(item) else str(meta.get("source") or "assumed")
        yield Assumption(item.name.replace("_", " "), value_text(value, meta.get("edge", "1")),
                         str(meta.get("doc", "")), source)  # fmt: skip


def _numbers(values: tuple[Any, ...]) -> bool:
    return bool(values) and all(isinstance(v, int | float) for v in values)


def _default(item: Field[Any]) -> Any:
    if item.default is not MISSING:
        return item.default
    return item.default_factory() if item.default_factory is not MISSING else MISSING


def value_text(value: Any, edge: str) -> str:
    """A value in its edge unit as people write it: "40 mm", "−28°", "0.02, 0.43 m"."""
    if isinstance(value, str):
        return value
    values = value if isinstance(value, tuple) else (value,)
    numbers = [f"{to_edge(float(v), edge):.6g}" for v in values]
    return (", ".join(numbers) + unit_text(edge)).replace("-", "−")
