"""Options with numbers: bounds, unit and example of each; how they are added, read, and told where they are wrong."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from typing import Any, NamedTuple

from scenarios.format.errors import fault, shown
from scenarios.format.keys import read_series
from scenarios.format.numbers import plain_number, plain_whole


class Option(NamedTuple):
    """One option with numbers: bounds and unit in edge units, whether it takes first:last:count."""

    low: float
    high: float
    unit: str
    meaning: str
    example: str
    series: bool = False
    whole: bool = False


def add_numbers(parser: argparse.ArgumentParser, options: Mapping[str, Option]) -> None:
    """Add the options by their names, "_" as "-"."""
    for name, option in options.items():
        unit = f", {option.unit}" if option.unit else ""
        form = "A:B:N" if option.series else option.unit.upper().replace("°C", "DEGC").replace("%", "PERCENT")
        how = ": first:last:count or a list 6,8,10" if option.series else ""
        text = f"{option.meaning}{unit}{how}".replace("%", "%%")
        parser.add_argument(flag(name), metavar=form, help=text)


def read_numbers(given: Mapping[str, Any], options: Mapping[str, Option], faults: list[str]) -> dict[str, Any]:
    """Numbers (edge units) by name, those left out not among them; faults are added."""
    found: dict[str, Any] = {}
    for name, option in options.items():
        text = given.get(name)
        if text is not None:
            value = _series(name, option, text, faults) if option.series else _value(name, option, text, faults)
            if value is not None:
                found[name] = value
    return found


def read_workers(given: Mapping[str, Any], faults: list[str]) -> int | None:
    """How many processes; None: as many as there are cores."""
    text = given.get("workers")
    if text is None:
        return None
    value = whole(text)
    if value is None or not 1 <= value <= 256:
        faults.append(fault("--workers", f"given {shown(text)}", "a whole number, 1 to 256", "leave it out: all cores"))
        return None
    return value


def flag(name: str) -> str:
    """An option as it stands on the command line."""
    return f"--{name.replace('_', '-')}"


def number(text: str) -> float | None:
    """A text as a number, None where it is none."""
    return plain_number(text)


def whole(text: str) -> int | None:
    """A text as a whole number, None where it is none."""
    return plain_whole(text)


def _value(name: str, option: Option, text: str, faults: list[str]) -> float | None:
    value = number(text)
    if value is not None and option.low <= value <= option.high:
        return value
    faults.append(_told(name, option, text))
    return None


def _series(name: str, option: Option, text: str, faults: list[str]) -> tuple[float, ...] | None:
    try:
        values = read_series(text)
    except ValueError as error:
        faults.append(_told(name, option, text, str(error)))
        return None
    outside = [v for v in values if not option.low <= v <= option.high or (option.whole and v != round(v))]
    if outside:
        faults.append(_told(name, option, text, f"{outside[0]:g}"))
        return None
    return tuple(values)


def _told(name: str, option: Option, text: str, why: str = "") -> str:
    bounds = f"{option.low:g} to {option.high:g}{' ' if option.unit else ''}{option.unit}"
    kind = "whole numbers, " if option.whole else ""
    allowed = f'{kind}"first:last:count", a list like 6,8,10 or one number, each {bounds}' if option.series else bounds
    given = f"given {shown(text)}{f' ({why})' if why else ''}"
    join = "" if option.example.startswith("=") else " "
    return fault(flag(name), given, f"{allowed} ({option.meaning})", f"{flag(name)}{join}{option.example}")
