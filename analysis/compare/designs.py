"""Designs that are compared: each scenario on the ground of the first, and what is not alike between them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from scenarios.changed.unlike import Unlike, unlike
from scenarios.scenario import Scenario

MOST = 6  # designs at once
TABLES = ("unit", "soil", "settings", "machine", "limits", "search")  # what may differ between designs
# what every design is given alike: the setting, and how many grounds are searched
ALIKE = ("settings.oil_pressure_bar", "settings.speed_kmh", "search.seeds", "search.draws")


@dataclass(frozen=True)
class Design:
    """One of the designs. scenario: on the ground of the first; own_ground: whether its file has another ground."""

    name: str
    scenario: Scenario
    own_ground: bool = False


def designs_of(scenarios: Sequence[Scenario], names: Sequence[str]) -> tuple[Design, ...]:
    """Scenarios by name, all on the ground of the first."""
    first = scenarios[0]
    return tuple(
        Design(name, _on_ground_of(first, scenario), own_ground=_other_ground(first, scenario))
        for scenario, name in zip(scenarios, names, strict=True)
    )


def apart(paths: Sequence[Path]) -> list[str]:
    """Names of files that are all different: the file's stem, with its folder where two are alike, else a number.

    >>> apart([Path("a/x.toml"), Path("b/x.toml"), Path("y.toml"), Path("y.toml")])
    ['a/x', 'b/x', 'y', 'y (2)']
    """
    paths = [path.resolve() for path in paths]
    named = [f"{path.parent.name}/{path.stem}" if _folders(paths, path.stem) > 1 else path.stem for path in paths]
    return [name if named[:i].count(name) == 0 else f"{name} ({named[:i].count(name) + 1})"
            for i, name in enumerate(named)]  # fmt: skip


def _folders(paths: Sequence[Path], stem: str) -> int:
    return len({path.parent for path in paths if path.stem == stem})


def differing(designs: Sequence[Design], *, settings: bool = False) -> list[Unlike]:
    """The keys in which designs differ; settings: pressure and speed too, which a comparison else gives them alike."""
    found = unlike([design.scenario for design in designs], TABLES)
    return [one for one in found if one.name not in (ALIKE[2:] if settings else ALIKE)]


def same(one: Design, other: Design) -> bool:
    """Whether two designs have all values alike, so that nothing can differ."""
    return all(getattr(one.scenario, name) == getattr(other.scenario, name) for name in (*TABLES, "variation"))


def _on_ground_of(first: Scenario, scenario: Scenario) -> Scenario:
    if scenario is first:
        return scenario
    soil = scenario.soil
    if first.profile is not None and first.profile.mean_strength is not None:  # measured with the ground
        soil = replace(soil, strength=first.profile.mean_strength)
    return replace(
        scenario, ground=first.ground, stones=first.stones, profile=first.profile, x_from=first.x_from,
        x_to=first.x_to, soil=soil, search=replace(scenario.search, seeds=first.search.seeds),
    )  # fmt: skip


def _other_ground(first: Scenario, scenario: Scenario) -> bool:
    """Whether a scenario's own ground is not that of the first."""
    held = [(one.ground, one.stones, one.x_from, one.x_to, _measured(one)) for one in (first, scenario)]
    return held[0] != held[1]


def _measured(scenario: Scenario) -> Path | None:
    return None if scenario.profile is None else scenario.profile.path.resolve()
