"""`--stone` of run and window: how fast a stone may be met, and how often stones of the field pass the limit."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from analysis.cli.parts.number_options import Option, add_numbers, flag, read_numbers
from scenarios.format.errors import fault
from scenarios.scenario import Scenario

STONE = {
    "stone": Option(1.0, 300.0, "mm", "height of a stone over the ground: how fast may it be met?", "30"),
    "pin_limit": Option(0.1, 1000.0, "kN", "force that the most loaded pin is not to pass on it", "25"),
    "disc_limit": Option(0.1, 1000.0, "kN", "force that the disc is not to pass on it", "15"),
}


@dataclass(frozen=True)
class StonePart:
    """What `--stone` adds to a run or a window."""

    document: list[dict[str, Any]]
    text: str


def add_stone(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    add_numbers(parser, STONE)


def read_stone(given: Mapping[str, Any], faults: list[str]) -> dict[str, float]:
    """The options as numbers (edge units) by name, those left out not among them; faults are added."""
    found = read_numbers(given, STONE, faults)
    if given.get("stone") is None:
        for name in ("pin_limit", "disc_limit"):
            if given.get(name) is not None:
                faults.append(fault(flag(name), "given without --stone", "with the height of a stone", "--stone 30"))
    return found


def stone_faults(asked: Mapping[str, float], scenario: Scenario) -> list[str]:
    """A stone asked for without a force to hold it against."""
    if "stone" not in asked or {"pin_limit", "disc_limit"} & set(asked) or scenario.limits.pin_peak_max is not None:
        return []
    return [fault("--stone", "no force", "--pin-limit or --disc-limit with it, or limits.pin_peak_max_N in the file",
                  "--stone 30 --pin-limit 25")]  # fmt: skip


def stone_part(
    asked: Mapping[str, float],
    scenario: Scenario,
    oil_pressure: float,
    speed: float,
    workers: int | None,
    at: str = "",
) -> StonePart | None:
    """The stone asked for at an oil pressure [Pa] and a speed [m/s]; None where none is asked for. at: for its heading.

    `stone_faults` has to be empty.
    """
    if "stone" not in asked:
        return None
    # every run would wait a tenth of a second for these
    from analysis.stones.document import met_document  # noqa: PLC0415
    from analysis.stones.per_hectare import stone_chance  # noqa: PLC0415
    from analysis.stones.speed import Limit, stone_speed  # noqa: PLC0415
    from analysis.stones.words import met_text  # noqa: PLC0415

    limits = [Limit("disc", asked["disc_limit"] * 1e3)] if "disc_limit" in asked else []
    limits += [Limit("pin", asked["pin_limit"] * 1e3)] if "pin_limit" in asked else []
    if not limits:
        limits = [Limit("pin", value) for value in [scenario.limits.pin_peak_max] if value is not None]
    found = [
        (
            stone_speed(scenario, limit, asked["stone"] / 1e3, oil_pressure, workers),
            stone_chance(scenario, limit, oil_pressure, speed, workers),
        )
        for limit in limits
    ]
    return StonePart([met_document(*one) for one in found], met_text(found, at))
