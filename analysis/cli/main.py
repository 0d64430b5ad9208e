"""The command line: the only place that prints, writes what the user asked for, and sets exit codes.

Everything heavy is imported where it is used, so that `rowbench --version` and a misspelt option answer at once.
"""

from __future__ import annotations

import json
import os
import sys
import time
from collections.abc import Callable, Sequence
from contextlib import ExitStack
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from analysis.cli import explain as cli_explain
from analysis.cli import pressures as cli_pressures
from analysis.cli import report as cli_report
from analysis.cli.arguments import RUN_THEMSELVES, Request, parser, read_request
from analysis.present.progress import Meter
from analysis.version import VERSION
from scenarios.format.errors import ScenarioError, fault, shown

if TYPE_CHECKING:
    from analysis.verify.checks import VerifyResult
    from scenarios.scenario import Scenario
    from sim.record import Run

OK, FAILED, BAD_INPUT, INTERRUPTED = 0, 1, 2, 130


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command → exit code: 0, 1 (a check of `verify` failed), 2 (bad input), 130 (Ctrl-C)."""
    _plain_streams()
    words = list(sys.argv[1:] if arguments is None else arguments)
    try:
        return _command(words)
    except ScenarioError as error:
        _say(f"rowbench: {error}")
        return BAD_INPUT
    except KeyboardInterrupt:
        _say("\nrowbench: stopped; nothing was written")
        return INTERRUPTED
    except BrokenPipeError:  # the reader of our output has gone, as in: rowbench library | head -1
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return OK


def _command(words: list[str]) -> int:
    if not words:
        print(parser().format_help())
        return BAD_INPUT
    request = read_request(words)
    if request.command in RUN_THEMSELVES:
        return RUN_THEMSELVES[request.command](request.extra["arguments"])
    commands: dict[str, Callable[[Request], int]] = {
        "version": _version,
        "run": _run,
        "window": _window,
        "draw": _draw,
        "library": _library,
        "new": _new,
        "verify": _verify,
        "explain": lambda request: _answered(request, cli_explain.answer),
        "report": lambda request: _answered(request, cli_report.answer),
        **dict.fromkeys(cli_pressures.COMMANDS, _setting),
    }
    return commands[request.command](request)


# --- commands ---------------------------------------------------------------------------------------------------


def _version(request: Request) -> int:
    del request
    print(f"rowbench {VERSION}")
    return OK


def _run(request: Request) -> int:
    from analysis.crossing.summary import run_summary  # noqa: PLC0415
    from analysis.crossing.words import run_text  # noqa: PLC0415
    from analysis.present.scenario_words import scenario_title  # noqa: PLC0415

    scenario = _scenario(request)
    compiled = _warm_up()
    run = replace(_simulated(scenario, request.engine), compile_wall=compiled)
    document = {**run_summary(run, scenario), "engine": run.engine}
    with ExitStack() as files:
        if request.save is not None:
            _save_run(files, request, run, scenario, document)
        if request.figure is not None:
            from analysis.crossing.figure_crossing import crossing_figure  # noqa: PLC0415

            figure = crossing_figure(run, document, scenario.limits.depth_tolerance, scenario_title(scenario))
            _save_figure(files, request.figure, figure)
    s = scenario.settings
    stone = cli_pressures.stone_part(request, scenario, s.oil_pressure, s.speed)
    if request.json:
        _print_json({**document, **({"stone": stone.document} if stone else {})})
    else:
        stones = bool((run.track.stone_id >= 0).any())
        print(run_text(document, scenario_title(scenario), scenario.limits.depth_tolerance * 1e3, stones))
        if stone:
            print(f"\n{stone.text}")
    return OK


def _draw(request: Request) -> int:
    from analysis.present.unit_points import unit_points  # noqa: PLC0415
    from sim.mechanism.linkage import LinkageError  # noqa: PLC0415
    from sim.run import prepare  # noqa: PLC0415

    scenario = _scenario(request)
    unit, settings = scenario.unit, scenario.settings
    try:
        setting = prepare(unit, scenario.soil, scenario.stones.contact, settings).setting
    except (LinkageError, ValueError) as error:
        raise ScenarioError([f"{scenario.path}: {error}"]) from None
    points = unit_points(unit, setting.crank_angle, unit.main_links.angle_nominal, setting.press_angle)
    if request.figure is not None:
        from analysis.present.figure_unit import unit_figure  # noqa: PLC0415

        with ExitStack() as files:
            _save_figure(files, request.figure, unit_figure(unit, setting, settings, scenario.title))
    document = {"scenario": scenario.name, "points_from_O_m": {name: list(place) for name, place in points.items()}}
    if request.json:
        _print_json(document)
    else:
        from analysis.present.library_words import points_text  # noqa: PLC0415

        print(points_text(scenario.title, points))
    return OK


def _library(request: Request) -> int:
    from analysis.present.library_words import library_text  # noqa: PLC0415
    from scenarios.format.library import KINDS, library  # noqa: PLC0415
    from scenarios.paddock.load import paddock_library  # noqa: PLC0415

    _refuse(request)
    entries = {**{kind: library(kind) for kind in KINDS}, "paddock": paddock_library()}
    found = {
        kind: [{"name": e.name, "title": e.title, "shows": e.shows, "path": str(e.path)} for e in named]
        for kind, named in entries.items()
    }
    if request.json:
        _print_json({f"{kind}s": entries for kind, entries in found.items()})
    else:
        print(library_text(found))
    return OK


def _new(request: Request) -> int:
    from analysis.storage.safe_write import output_fault, replacing  # noqa: PLC0415
    from scenarios.format.starter import starter_text  # noqa: PLC0415

    _refuse(request)
    given = Path(request.source)
    path = given if given.suffix == ".toml" else given.with_name(f"{given.name}.toml")
    wrong = output_fault(path, "rowbench new", (".toml",))
    if wrong is None and path.exists():
        wrong = fault("rowbench new", f"given {shown(str(path))}, which is there already", "a name that is free",
                      f"rowbench new {path.with_name(path.stem + '_2').with_suffix('')}")  # fmt: skip
    if wrong:
        raise ScenarioError([wrong])
    with replacing(path, keep_existing=True) as place:
        place.write_text(starter_text(path.stem.replace("_", " ")), encoding="utf-8")
    if request.json:
        _print_json({"written": str(path)})
    else:
        print(f"{path} written: every key with its meaning, range and default. Try: rowbench run {path}")
    return OK


def _window(request: Request) -> int:
    from analysis.window.advice import advise  # noqa: PLC0415
    from analysis.window.advice_document import advice_document  # noqa: PLC0415
    from analysis.window.cross_grid import search  # noqa: PLC0415
    from analysis.window.pins_at import pins_at  # noqa: PLC0415
    from analysis.window.words import pins_text, window_text  # noqa: PLC0415

    scenario = _scenario(request)
    compiled = _warm_up(rows=True)
    workers = request.workers or None
    begin = time.perf_counter()
    searched = cli_pressures.window_part(request, scenario, _meter)
    if searched is None:
        window = search(scenario, workers=workers, progress=_meter("crossings"))
        advice = advise(scenario, window, workers, _meter("how sure: changes tried"))
    else:
        scenario, advice = searched.scenario, searched.advice
        window = advice.window
    pins = pins_at(scenario, window.seeds, advice.outcome, workers) if request.pins else {}
    taken = {"wall_s": time.perf_counter() - begin, "compile_s": compiled, "version": VERSION}
    if request.figure is not None:
        from analysis.window.figure import window_figure  # noqa: PLC0415

        with ExitStack() as files:
            _save_figure(files, request.figure, window_figure(window, advice.outcome, scenario))
    found = advice.outcome
    stone = cli_pressures.stone_part(request, scenario, found.oil_pressure, found.speed)
    if request.json:
        table = {name: {"peak_N": p.peak, "rms_N": p.rms, "mean_N": p.mean} for name, p in pins.items()}
        more = {**({"pins": table} if request.pins else {}), **({"stone": stone.document} if stone else {})}
        _print_json({**(searched.document if searched else advice_document(advice)), **more, "run": taken})
    else:
        parts = [searched.text if searched else "", window_text(advice, scenario)]
        parts += [stone.text if stone else "", pins_text(window, advice.outcome, pins) if request.pins else ""]
        print("\n\n".join(part for part in parts if part))
    return OK


def _setting(request: Request) -> int:
    """One of the commands of `analysis.cli.pressures`."""
    found = cli_pressures.answer(request, _scenario(request), _warm_up, _meter)
    if request.figure is not None:
        with ExitStack() as files:
            _save_figure(files, request.figure, found.figure())
    if request.json:
        _print_json(found.document)
    else:
        print(found.text)
    return OK


def _answered(request: Request, answer: Callable[..., cli_explain.Answer]) -> int:
    """A command that brings its own text, document and files."""
    from analysis.storage.safe_write import replacing  # noqa: PLC0415

    found = cli_report.of_paddock(request) or answer(request, _scenario(request), _warm_up, _meter)
    with ExitStack() as files:
        for path, write in found.files:
            write(files.enter_context(replacing(path)))
    if request.json:
        _print_json(found.document)
    else:
        print(found.text)
    return OK


def _verify(request: Request) -> int:
    if not request.source:
        return _verify_library(request)
    result = _checked(request)
    if request.json:
        _print_json({**result.document(), "version": VERSION})
    else:
        print("\n".join(result.lines()))
        print(
            "All checks passed."
            if result.passed
            else "At least one check FAILED: do not trust this scenario's numbers."
        )
    return OK if result.passed else FAILED


def _checked(request: Request) -> VerifyResult:
    """The checks of one scenario, their figures drawn."""
    from analysis.verify.checks import verify_scenario  # noqa: PLC0415
    from sim.mechanism.linkage import LinkageError  # noqa: PLC0415
    from sim.run import RunError  # noqa: PLC0415

    scenario = _scenario(request)
    _warm_up()
    try:
        result = verify_scenario(scenario, full=request.full, progress=lambda text: _say(f"{text}…"))
        with ExitStack() as files:
            _draw_checks(files, request, result, scenario)
    except (LinkageError, RunError, ValueError) as error:
        raise ScenarioError([f"{scenario.path}: {error}"]) from None
    return result


def _verify_library(request: Request) -> int:
    """`verify` without FILE: every scenario of the library."""
    from scenarios.format.library import library  # noqa: PLC0415

    if request.figure is not None or request.engines is not None:
        raise ScenarioError([fault("rowbench verify", "a figure without a FILE", "one scenario for a figure",
                                   "rowbench verify rough --figure checks.png")])  # fmt: skip
    results = []
    for entry in library("scenario"):
        _say(f"{entry.name}:")
        results.append(_checked(replace(request, source=entry.name)))
        if not request.json:
            print("\n".join(results[-1].lines()), flush=True)
    failed = [result.scenario for result in results if not result.passed]
    if request.json:
        _print_json({"passed": not failed, "scenarios": [r.document() for r in results], "version": VERSION})
    else:
        print(
            f"All checks of {len(results)} scenarios passed."
            if not failed
            else f"At least one check FAILED in {', '.join(failed)}: do not trust their numbers."
        )
    return FAILED if failed else OK


# --- parts of commands ------------------------------------------------------------------------------------------


def _refuse(request: Request) -> None:
    """Stop at faults of the options."""
    if request.faults:
        raise ScenarioError(request.faults)


def _scenario(request: Request) -> Scenario:
    """The scenario asked for; faults of options and of the file are told in one message."""
    from scenarios.load import load  # noqa: PLC0415

    if not request.source:
        _refuse(request)
    try:
        scenario = cli_report.stored(request) or load(request.source, profile=request.profile, changes=request.changes)
    except ScenarioError as error:
        raise ScenarioError([*request.faults, *error.faults]) from None
    _refuse(replace(request, faults=(*request.faults, *cli_pressures.stone_faults(request, scenario))))
    return scenario


def _warm_up(rows: bool = False) -> float:
    """Compile the model or fetch it from the cache, saying so where it takes long → time taken [s].

    rows: the march of eight rows, else that of one.
    """
    from analysis.cli import warmup  # noqa: PLC0415

    if not warmup.is_compiled(rows=rows):
        usual = warmup.USUAL_COMPILE_TIME_ROWS if rows else warmup.USUAL_COMPILE_TIME
        _say(f"compiling the model (once per installation, about {usual} s)…")
    return warmup.warm_up_rows() if rows else warmup.warm_up()


def _simulated(scenario: Scenario, engine: str) -> Run:
    from sim.mechanism.linkage import LinkageError  # noqa: PLC0415
    from sim.run import RunError, simulate  # noqa: PLC0415

    try:
        if engine == "rigid":
            from sim.rigid.simulate import simulate_rigid  # noqa: PLC0415

            return simulate_rigid(scenario.unit, scenario.soil, scenario.track(), scenario.settings)
        return simulate(scenario.unit, scenario.soil, scenario.track(), scenario.settings)
    except (LinkageError, RunError, ValueError) as error:
        raise ScenarioError([f"{scenario.path}: {error}"]) from None


def _save_figure(files: ExitStack, path: Path, figure: Any) -> None:
    from analysis.present.figure_style import save  # noqa: PLC0415
    from analysis.storage.safe_write import replacing  # noqa: PLC0415

    save(figure, files.enter_context(replacing(path)))


def _save_run(files: ExitStack, request: Request, run: Run, scenario: Scenario, document: dict[str, Any]) -> None:
    from analysis.storage.run_file import save_run  # noqa: PLC0415
    from analysis.storage.safe_write import replacing  # noqa: PLC0415

    assert request.save is not None
    save_run(files.enter_context(replacing(request.save)), run, scenario, document, request.changes)


def _meter(what: str) -> Meter:
    """Progress on standard error: one line that is written over on a terminal, a line now and then elsewhere."""
    if sys.stderr.isatty():
        return Meter(what, lambda text: _say(f"\r{text:<70}", end="\n" if text.endswith("taken") else ""), 0.2)
    return Meter(what, _say, 10.0)


def _draw_checks(files: ExitStack, request: Request, result: VerifyResult, scenario: Scenario) -> None:
    """The figures that `verify` was asked for."""
    if request.figure is not None:
        from analysis.verify.figure import verify_figure  # noqa: PLC0415

        _save_figure(files, request.figure, verify_figure(result))
    if request.engines is not None:
        from analysis.verify.engines import compare_engines  # noqa: PLC0415
        from analysis.verify.figure_engines import engines_figure  # noqa: PLC0415

        _save_figure(files, request.engines, engines_figure(compare_engines(scenario)))


def _print_json(document: dict[str, Any]) -> None:
    """One JSON document; numbers of numpy count as numbers, NaN is refused."""
    print(json.dumps(document, indent=1, allow_nan=False, ensure_ascii=False, default=lambda value: value.item()))


def _say(text: str, *, end: str = "\n") -> None:
    """A word to the user beside the result."""
    print(text, file=sys.stderr, end=end, flush=True)


def _plain_streams() -> None:
    """A terminal that lacks a character shows another in its place, in place of a traceback."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")


if __name__ == "__main__":
    sys.exit(main())
