"""Setting commands: `pressures`, `disc`, `press`, and the options that `run` and `window` take from here.

`add_parser` adds the commands, `add_search_options` and `add_stone_options` the options; `read_extra` checks what was
given for all of them, and `answer` does one of the commands. Printing and writing is left to `analysis.cli.main`.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

from scenarios.format.errors import ScenarioError, fault, shown

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from analysis.cli.arguments import Request
    from analysis.present.progress import Meter
    from analysis.window.advice import Advice
    from scenarios.scenario import Scenario

COLD, HOT = 0.0, 35.0  # as analysis.setting_up.pressure_chart, which is not imported to read a command line [°C]
EVENNESS = 50.0  # change of the downforce over the travel that an accumulator is sized for [%] (assumed)


@dataclass(frozen=True)
class Answer:
    """What a command found: its JSON document, its text, and its figure when asked for."""

    document: dict[str, Any]
    text: str
    figure: Callable[[], Figure]


class Option(NamedTuple):
    """One option with numbers: bounds and unit in edge units, whether it takes first:last:count."""

    low: float
    high: float
    unit: str
    meaning: str
    example: str
    series: bool = False
    whole: bool = False


OPTIONS: dict[str, Option] = {
    "cold": Option(-40.0, 60.0, "°C", "gas temperature on a cold morning", "0"),
    "hot": Option(-40.0, 60.0, "°C", "gas temperature on a hot afternoon", "35"),
    "evenness": Option(1.0, 1000.0, "%", "change of the downforce over the travel to size the accumulator for", "50"),
    "travel": Option(10.0, 1000.0, "mm", "how far the disc moves up and down, for the accumulator's size", "100"),
    "precharges": Option(1.0, 200.0, "bar", "nitrogen precharges to try", "15:40:6", series=True),
    "depths": Option(5.0, 150.0, "mm", "set depths to try", "30:50:3", series=True),
    "stone": Option(1.0, 300.0, "mm", "height of a stone over the ground: how fast may it be met?", "30"),
    "pin_limit": Option(0.1, 1000.0, "kN", "force that the most loaded pin is not to pass on it", "25"),
    "disc_limit": Option(0.1, 1000.0, "kN", "force that the disc is not to pass on it", "15"),
    "strengths": Option(0.05, 10.0, "MPa", "soil strengths to try", "0.3:1.8:6", series=True),
    "diameters": Option(200.0, 1200.0, "mm", "diameters of the disc to try", "450:700:6", series=True),
    "stickiness": Option(0.01, 1000.0, "", "factors on the drag of bearing and scraper to try", "1:10:4", series=True),
    "notches": Option(-10, 10, "", "notches of the press wheel's spring to try", "=-3:3:7", series=True, whole=True),
}
SEARCH, STONE = ("precharges", "depths"), ("stone", "pin_limit", "disc_limit")
COMMANDS: dict[str, tuple[str, tuple[str, ...]]] = {
    "pressures": (
        "oil pressure → downforce over the travel, spring rate, cushion, precharge and accumulator",
        ("cold", "hot", "evenness", "travel"),
    ),
    "disc": (
        "what turns the disc against scraper and bearing, and what a larger one gains and costs",
        ("depths", "strengths", "diameters", "stickiness"),
    ),
    "press": ("notch of the press wheel → load on the closing zone, and off the gauge wheel", ("notches",)),
}


def add_parser(commands: Any) -> None:
    """Add the commands of this file to the subparsers of the command line."""
    for name, (text, options) in COMMANDS.items():
        made = commands.add_parser(name, help=text, description=text[0].upper() + text[1:] + ".", allow_abbrev=False)
        made.add_argument("file", nargs="?", metavar="FILE")
        made.add_argument("--json", action="store_true", help="one JSON document on standard output")
        made.add_argument("--pressure", metavar="BAR", help="oil pressure in place of the file's")
        if name == "pressures":
            made.add_argument("--precharge", metavar="BAR", help="nitrogen precharge in place of the file's")
            made.add_argument("--pressures", metavar="A:B:N", help="oil pressures to show, bar: first:last:count")
        else:
            made.add_argument("--speed", metavar="KMH", help="speed in place of the file's")
        if name == "press":
            made.add_argument("--speeds", metavar="A:B:N", help="speeds to try, km/h: first:last:count")
            made.add_argument("--seeds", metavar="N", help="how many grounds to try")
            made.add_argument("--workers", metavar="N", help="how many processor cores to use (default: all)")
        _add(made, options)
        made.add_argument("--figure", metavar="PNG", help="draw it (.png, .svg or .pdf)")


def add_search_options(window: argparse.ArgumentParser) -> None:
    """Options of `window` that search precharges and depths too."""
    _add(window, SEARCH)


def add_stone_options(made: argparse.ArgumentParser) -> None:
    """Options of `run` and `window` that ask how fast a stone may be met."""
    _add(made, STONE)


def _add(made: argparse.ArgumentParser, names: Sequence[str]) -> None:
    for name in names:
        option = OPTIONS[name]
        unit = f", {option.unit}" if option.unit else ""
        form = "A:B:N" if option.series else option.unit.upper().replace("°C", "DEGC").replace("%", "PERCENT")
        text = f"{option.meaning}{unit}{': first:last:count' if option.series else ''}".replace("%", "%%")
        made.add_argument(f"--{name.replace('_', '-')}", metavar=form, help=text)


def read_extra(given: Mapping[str, Any], faults: list[str]) -> dict[str, Any]:
    """The options of this file as numbers (edge units) by name, those left out not among them; faults are added."""
    found: dict[str, Any] = {}
    for name, option in OPTIONS.items():
        text = given.get(name)
        if text is not None:
            value = _series(name, option, text, faults) if option.series else _value(name, option, text, faults)
            if value is not None:
                found[name] = value
    if "stone" not in found and given.get("stone") is None:
        for name in STONE[1:]:
            if given.get(name) is not None:
                flag = f"--{name.replace('_', '-')}"
                faults.append(fault(flag, "given without --stone", "with the height of a stone", "--stone 30"))
    return found


def _told(name: str, option: Option, text: str, why: str = "") -> str:
    flag = f"--{name.replace('_', '-')}"
    bounds = f"{option.low:g} to {option.high:g}{' ' if option.unit else ''}{option.unit}"
    kind = "whole numbers, " if option.whole else ""
    allowed = f'{kind}"first:last:count" or one number, each {bounds}' if option.series else bounds
    given = f"given {shown(text)}{f' ({why})' if why else ''}"
    join = "" if option.example.startswith("=") else " "
    return fault(flag, given, f"{allowed} ({option.meaning})", f"{flag}{join}{option.example}")


def _value(name: str, option: Option, text: str, faults: list[str]) -> float | None:
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if option.low <= value <= option.high:
        return value
    faults.append(_told(name, option, text))
    return None


def _series(name: str, option: Option, text: str, faults: list[str]) -> tuple[float, ...] | None:
    from scenarios.format.keys import read_series  # noqa: PLC0415 (not needed for --version)

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


def answer(request: Request, scenario: Scenario, warm_up: Callable[[], float], meter: Callable[[str], Meter]) -> Answer:
    """Do the command of a request. warm_up: compile the model; meter(what): progress of a long job.

    Raises ScenarioError where the scenario cannot be computed.
    """
    from sim.mechanism.linkage import LinkageError  # noqa: PLC0415
    from sim.run import RunError  # noqa: PLC0415

    try:
        if request.command == "pressures":
            return _pressures(request, scenario)
        warm_up()
        return _disc(request, scenario) if request.command == "disc" else _press(request, scenario, meter)
    except ScenarioError:
        raise
    except (LinkageError, RunError, ValueError) as error:
        raise ScenarioError([f"{scenario.path}: {error}"]) from None


def _pressures(request: Request, scenario: Scenario) -> Answer:
    from analysis.setting_up.precharge import precharge, sizes  # noqa: PLC0415
    from analysis.setting_up.pressure_chart import chart  # noqa: PLC0415
    from analysis.setting_up.pressure_words import pressures_text  # noqa: PLC0415

    extra = request.extra
    cold, hot = extra.get("cold", COLD), extra.get("hot", HOT)
    if not cold < hot:
        raise ScenarioError([fault("--cold", f"given {cold:g} °C", f"below --hot, {hot:g} °C", "--cold 0 --hot 35")])
    found = chart(scenario, None, cold, hot)
    advice = precharge(found)
    travel = extra.get("travel")
    volumes = sizes(found, extra.get("evenness", EVENNESS) / 100.0, None if travel is None else travel / 1e3)

    def figure() -> Figure:
        from analysis.setting_up.figure_pressures import pressures_figure  # noqa: PLC0415

        return pressures_figure(found, scenario.title)

    document = {
        "scenario": scenario.name,
        **found.to_dict(),
        "precharge_advice": advice.to_dict(),
        "accumulator": [size.to_dict() for size in volumes],
        "warnings": list(scenario.warnings),
    }
    return Answer(document, pressures_text(found, advice, volumes, _title(scenario)), figure)


def _disc(request: Request, scenario: Scenario) -> Answer:
    from analysis.setting_up.disc_drive import STICKINESS, disc_drive  # noqa: PLC0415
    from analysis.setting_up.disc_words import disc_text  # noqa: PLC0415
    from sim.mechanism.linkage import LinkageError  # noqa: PLC0415
    from sim.run import RunError, simulate  # noqa: PLC0415

    extra, reason = request.extra, ""
    try:
        run = simulate(scenario.unit, scenario.soil, scenario.track(), scenario.settings)
    except (LinkageError, RunError, ValueError) as error:
        run, reason = None, str(error)
    found = disc_drive(
        scenario,
        run,
        depths=_scaled(extra, "depths", 1e-3),
        strengths=_scaled(extra, "strengths", 1e6),
        diameters=_scaled(extra, "diameters", 1e-3),
        stickiness=extra.get("stickiness", STICKINESS),
        reason=reason,
    )

    def figure() -> Figure:
        from analysis.setting_up.figure_disc_drive import disc_figure  # noqa: PLC0415

        return disc_figure(found, scenario.title)

    return Answer(found.to_dict(), disc_text(found, _title(scenario)), figure)


def _press(request: Request, scenario: Scenario, meter: Callable[[str], Meter]) -> Answer:
    from analysis.setting_up.press_wheel import press_wheel  # noqa: PLC0415
    from analysis.setting_up.press_words import press_text  # noqa: PLC0415

    notches = request.extra.get("notches")
    found = press_wheel(
        scenario,
        None if notches is None else [round(n) for n in notches],
        scenario.search.speeds if "search.speeds_kmh" in request.changes else None,
        request.workers or None,
        meter("crossings"),
    )

    def figure() -> Figure:
        from analysis.setting_up.figure_press_wheel import press_figure  # noqa: PLC0415

        return press_figure(found, scenario.title)

    return Answer(found.to_dict(), press_text(found, _title(scenario)), figure)


def _scaled(extra: Mapping[str, Any], name: str, factor: float) -> list[float] | None:
    return None if name not in extra else [value * factor for value in extra[name]]


def _title(scenario: Scenario) -> str:
    return f"{scenario.title} ({scenario.name})"


@dataclass(frozen=True)
class StonePart:
    """What `--stone` adds to a run or a window."""

    document: list[dict[str, Any]]
    text: str


def stone_part(request: Request, scenario: Scenario, oil_pressure: float, speed: float) -> StonePart | None:
    """How fast the stone asked for may be met, and how often stones of the field pass the limit; SI units.

    None where no stone is asked for; `stone_faults` has to be empty.
    """
    if "stone" not in request.extra:
        return None
    from analysis.stones.document import met_document  # noqa: PLC0415
    from analysis.stones.per_hectare import stone_chance  # noqa: PLC0415
    from analysis.stones.speed import Limit, stone_speed  # noqa: PLC0415
    from analysis.stones.words import met_text  # noqa: PLC0415

    extra, workers = request.extra, request.workers or None
    limits = [Limit("disc", extra["disc_limit"] * 1e3)] if "disc_limit" in extra else []
    limits += [Limit("pin", extra["pin_limit"] * 1e3)] if "pin_limit" in extra else []
    if not limits:
        limits = [Limit("pin", value) for value in [scenario.limits.pin_peak_max] if value is not None]
    found = [
        (
            stone_speed(scenario, limit, extra["stone"] / 1e3, oil_pressure, workers),
            stone_chance(scenario, limit, oil_pressure, speed, workers),
        )
        for limit in limits
    ]
    return StonePart([met_document(*one) for one in found], met_text(found))


def stone_faults(request: Request, scenario: Scenario) -> list[str]:
    """A stone asked for without a force to hold it against."""
    if "stone" not in request.extra or {"pin_limit", "disc_limit"} & set(request.extra):
        return []
    if scenario.limits.pin_peak_max is not None:
        return []
    return [fault("--stone", "no force", "--pin-limit or --disc-limit with it, or limits.pin_peak_max_N in the file",
                  "--stone 30 --pin-limit 25")]  # fmt: skip


@dataclass(frozen=True)
class WindowPart:
    """A window over precharges and depths: the scenario of the best pair, its advice, and what is told beside it."""

    scenario: Scenario
    advice: Advice
    document: dict[str, Any]
    text: str


def window_part(request: Request, scenario: Scenario, meter: Callable[[str], Meter]) -> WindowPart | None:
    """Search precharges and depths too; None where neither is asked for."""
    if not set(SEARCH) & set(request.extra):
        return None
    from analysis.window.advice_document import searched_document  # noqa: PLC0415
    from analysis.window.search import advise_searched, search_settings  # noqa: PLC0415
    from analysis.window.search_words import searched_text  # noqa: PLC0415

    precharges, depths = (request.extra.get(name) for name in SEARCH)
    workers = request.workers or None
    found = search_settings(scenario, precharges, depths, workers=workers, progress=meter("crossings"))
    advice = advise_searched(found, workers, meter("how sure: changes tried"))
    return WindowPart(found.best.scenario, advice, searched_document(found, advice), searched_text(found))
