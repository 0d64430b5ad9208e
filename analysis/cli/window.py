"""`rowbench window FILE`: which oil pressure and speed to pick."""

from __future__ import annotations

import argparse
import time
from typing import Any

from analysis.cli.parts.answer import Answer
from analysis.cli.parts.file_keys import read_changes
from analysis.cli.parts.number_options import flag, read_workers
from analysis.cli.parts.output_files import read_figure
from analysis.cli.parts.precharges_and_depths import add_search, read_search, searched_part, windows_tried
from analysis.cli.parts.request import Request
from analysis.cli.parts.scenario_file import need_file, read_scenario
from analysis.cli.parts.set_option import add_set, changed_document, read_set
from analysis.cli.parts.shared_options import add_shared
from analysis.cli.parts.size import tell_search
from analysis.cli.parts.stone import add_stone, read_stone, stone_faults, stone_part
from analysis.cli.parts.warmup import ready
from analysis.cli.parts.worn import add_worn, read_worn
from analysis.crossing.loads import pin_table
from analysis.version import VERSION
from analysis.window.advice import advise
from analysis.window.advice_document import advice_document
from analysis.window.cross_grid import search
from analysis.window.pick import Pick
from analysis.window.pins_at import pins_at
from analysis.window.sentences import LEAST
from analysis.window.told.detail_words import detailed_text
from analysis.window.wear.cost import wear_cost
from analysis.window.wear.words import wear_document, wear_words
from analysis.window.words import first_text, pins_text, window_text
from scenarios.format.errors import fault


def options(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    add_shared(parser, "--json", "file", "--pressures", "--speeds", "--seeds", "--draws", "--workers")
    parser.add_argument("--pins", action="store_true", help="also the table of pin loads over the grid")
    add_search(parser)
    add_stone(parser)
    add_worn(parser, "; and what that costs against pins that fit")
    add_set(parser)
    parser.add_argument(
        "--details", action="store_true", help="the whole screen: every reason, how sure, stones, weight, all cautions"
    )
    add_shared(parser, "--profile", "--figure")


def answer(request: Request) -> Answer:
    """Search pressures × speeds and pick. Raises ScenarioError with all faults."""
    faults, given = list(request.faults), request.given
    changes = read_changes(given, faults)
    worn_asked = read_worn(given, changes, faults)
    read_set(given, changes, faults)
    need_file(request, faults)
    search_asked, stone_asked = read_search(given, faults), read_stone(given, faults)
    if worn_asked:
        faults += [
            fault(flag(name), "given with --worn", "one of the two", f"leave {flag(name)} out")
            for name in ("precharges", "depths", "depth_range")
            if given.get(name) is not None
        ]
    figure, workers = read_figure(given, faults), read_workers(given, faults)
    scenario = read_scenario(request, faults, changes, lambda scenario: stone_faults(stone_asked, scenario))
    tell_search(request, scenario, workers, windows=windows_tried(search_asked))
    compiled = ready(request, scenario.unit, rows=True, timed=True)
    alone = scenario.uncertain is None and not (given["details"] or given["pins"] or stone_asked or worn_asked)
    begin, shown = time.perf_counter(), ""
    searched = searched_part(search_asked, scenario, workers, request)
    if searched is None:
        window = search(scenario, workers=workers, progress=request.meter("crossings"))
        first = advise(scenario, window, workers, sure=False) if alone else None
        if first is not None and isinstance(first.outcome, Pick):  # how sure that is takes longer than to find it
            shown = first_text(first, scenario)
            request.show(shown)
        advice = advise(scenario, window, workers, request.meter("how sure: sets and changes"), first=first)
    else:
        scenario, advice = searched.scenario, searched.advice
        window = advice.window
    found = advice.outcome
    worn = wear_cost(scenario, found, workers, request.meter("pins that fit")) if worn_asked else None
    pins = pins_at(scenario, window.seeds, found, workers) if given["pins"] else {}
    taken = {"wall_s": time.perf_counter() - begin, "compile_s": compiled, "version": VERSION}
    at = "" if isinstance(found, Pick) else f" at the setting that {LEAST}"
    stone = stone_part(stone_asked, scenario, found.oil_pressure, found.speed, workers, at)
    more: dict[str, Any] = {"scenario_warnings": list(scenario.warnings)}
    more |= changed_document(scenario)
    more |= {"stone": stone.document} if stone else {}
    more |= {"worn": wear_document(worn, scenario)} if worn else {}
    if given["pins"]:
        more = {"pins": pin_table(pins), **more}
    screen = detailed_text if given["details"] else window_text
    # what to set is the last that is seen
    parts = [pins_text(window, found, pins) if given["pins"] else "", stone.text if stone else ""]
    costs = (wear_words(worn, scenario), isinstance(worn.fitting, Pick)) if worn else ((), False)
    parts += [searched.text if searched else "", screen(advice, scenario, *costs)]

    def draw():
        from analysis.window.figures import advice_figure  # noqa: PLC0415 (matplotlib: half a second)

        return advice_figure(advice, scenario)

    return Answer(
        "\n\n".join(part for part in parts if part),
        {
            **(searched.document if searched else advice_document(advice)),
            **more,
            **changed_document(scenario),
            "run": taken,
        },
        shown=shown,
        figures=() if figure is None else ((figure, draw),),
    )
