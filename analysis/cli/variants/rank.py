"""`rowbench rank FILE`: which values move on-depth share, wheel-off share, depth scatter, pin loads, the pick."""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from analysis.cli.parts.answer import Answer, stopped_by
from analysis.cli.parts.faults import refuse
from analysis.cli.parts.file_keys import read_changes
from analysis.cli.parts.number_options import Option, add_numbers, read_numbers, read_workers
from analysis.cli.parts.output_files import read_figure
from analysis.cli.parts.request import Request
from analysis.cli.parts.scenario_file import need_file, read_scenario
from analysis.cli.parts.set_option import add_set, changed_document, read_set
from analysis.cli.parts.shared_options import add_shared
from analysis.cli.parts.warmup import ready
from analysis.present.scenario_words import scenario_title
from analysis.rank.document import rank_document
from analysis.rank.knobs import GROUPS, PATHS, Knob, Left, Varied
from analysis.rank.pick import rank_pick
from analysis.rank.pick_words import pick_document, pick_text
from analysis.rank.rank import Ranking, rank, what_varies
from analysis.rank.rank import Stopped as RankStopped
from analysis.rank.words import rank_text
from scenarios.format.errors import closest, fault, shown
from scenarios.scenario import Scenario
from scenarios.together import MOVES

PICK = "pick"
LEAST_DRAWS = 8
MEASURES = ("on-depth", "wheel-off", "scatter", "pin-peak", "pin-mean", PICK)  # in the order of RANKED
OPTIONS = {"within": Option(0.1, 50.0, "%", "every numeric key by so much of its value, not what is believed", "10")}


def options(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    add_shared(parser, "file", "--json")
    add_numbers(parser, OPTIONS)
    parser.add_argument("--measure", metavar="NAME", help=f"what to rank by: {', '.join(MEASURES)}")
    parser.add_argument("--keys", metavar="K1,K2", help="these alone: keys, tables (unit.disc) or groups (gas)")
    add_shared(parser, "--pressure", "--speed", "--seed", "--seeds", "--draws", "--profile", "--workers", "--figure")
    add_set(parser)
    parser.add_argument("--details", action="store_true", help="every value, what was not varied, and why")


def answer(request: Request) -> Answer:
    """Rank the values of a file. Raises ScenarioError with all faults; Stopped on Ctrl-C, with what is known told."""
    faults, given = list(request.faults), request.given
    changes = read_changes(given, faults)
    read_set(given, changes, faults)
    need_file(request, faults)
    share = read_numbers(given, OPTIONS, faults).get("within")
    by, workers, figure = _measure(given, faults), read_workers(given, faults), read_figure(given, faults)
    scenario = read_scenario(request, faults, changes, _draws)
    ready(request, scenario.unit, one=False, rows=by == PICK, of_any=True)
    share = None if share is None else share / 100.0
    varied, left = _asked(given, *what_varies(scenario, share), share)
    title, details = scenario_title(scenario), bool(given["details"])
    if by == PICK:
        return _picked(request, scenario, varied, share, workers, figure)
    stopped: RankStopped | None = None
    try:
        found = rank(scenario, varied, left, share=share, by=MEASURES.index(by), workers=workers, meters=request.meter)
    except RankStopped as ended:
        stopped = ended
    if stopped is not None:
        kept = None if stopped.ranking is None else _told(stopped.ranking, title, details)
        raise stopped_by(stopped, str(stopped), kept)

    def draw():
        from analysis.rank.figure import rank_figure  # noqa: PLC0415 (matplotlib: half a second)

        return rank_figure(found, title)

    return replace(_told(found, title, details), figures=() if figure is None else ((figure, draw),))


def _told(found: Ranking, title: str, details: bool) -> Answer:
    """Screen and document of a ranking, whole or stopped."""
    document = {**rank_document(found), **changed_document(found.scenario)}
    return Answer(rank_text(found, title, details=details), document)


def _picked(
    request: Request, scenario: Scenario, varied: Varied, share: float | None, workers: int | None, figure: Any
) -> Answer:  # fmt: skip
    if figure is not None:
        refuse([fault("--figure", f"given with --measure {PICK}", f"with {', '.join(MEASURES[:-1])}",
                      "leave one of them out")])  # fmt: skip
    stopped: RankStopped | None = None
    try:
        found = rank_pick(scenario, varied, share=share, workers=workers, meters=request.meter)
    except RankStopped as ended:
        stopped = ended
    if stopped is not None:
        raise stopped_by(stopped, str(stopped))
    return Answer(pick_text(found, scenario_title(scenario)), {**pick_document(found), **changed_document(scenario)})


def _draws(scenario: Scenario) -> list[str]:
    """A fault of too few draws to say anything."""
    few = scenario.search.draws
    allowed = f"{LEAST_DRAWS} or more to rank by; powers of two (32, 64, 128) tell most for their time"
    return [fault("--draws (or search.draws)", f"given {few}", allowed, "--draws 32")] if few < LEAST_DRAWS else []


def _measure(given: Mapping[str, Any], faults: list[str]) -> str:
    text = given["measure"]
    if text is None:
        return MEASURES[0]
    name = str(text).strip().lower().replace("_", "-").replace(" ", "-")
    if name in MEASURES:
        return name
    near = closest(name, MEASURES) or MEASURES[0]
    faults.append(fault("--measure", f"given {shown(text)}", ", ".join(MEASURES), f"--measure {near}"))
    return MEASURES[0]


def _asked(
    given: Mapping[str, Any], varied: Varied, left: Sequence[Left], share: float | None
) -> tuple[Varied, tuple[Left, ...]]:  # fmt: skip
    """The knobs that --keys asks for, all where it is left out. Raises ScenarioError for what is none of them."""
    if given["keys"] is None:
        refuse([] if varied.knobs else [_nothing_varies(share)])
        return varied, tuple(left)
    wanted = [word.strip() for word in str(given["keys"]).split(",") if word.strip()]
    faults, chosen = [], set()
    for word in wanted:
        found = {i for i, knob in enumerate(varied.knobs) if _means(word, knob)}
        chosen |= found
        if not found:
            faults.append(_no_key(word, varied.knobs, left, share))
    if not wanted:
        faults.append(fault("--keys", "nothing given", _KINDS, "--keys gas"))
    refuse(faults)
    return varied.only(sorted(chosen)), ()


_KINDS = f"keys of the file by their full names, tables (unit.disc), or groups: {', '.join(GROUPS)}"


def _means(word: str, knob: Knob) -> bool:
    names = (knob.name, *knob.members)
    return word == knob.group or any(name == word or name.startswith(f"{word}.") for name in names)


def _no_key(word: str, knobs: Sequence[Knob], left: Sequence[Left], share: float | None) -> str:
    for name, why in left:
        if name == word:
            return fault("--keys", f"given {shown(word)}: {why}", "a key that can be varied here", "leave it out")
    if share is None and (word in PATHS or word in MOVES):
        given = f"given {shown(word)}, which is not in doubt by [prior] or [uncertain]"
        return fault("--keys", given, "values in doubt, or with --within any number", f"--within 10 --keys {word}")
    near = closest(word, [*(knob.name for knob in knobs), *GROUPS])
    hint = f"--keys {near or 'gas'}"
    here = "" if share is not None else f"; without --within those in doubt alone ({len(knobs)})"
    return fault("--keys", f"given {shown(word)}", f"{_KINDS}{here}", hint)


def _nothing_varies(share: float | None) -> str:
    where = "[prior]" if share is None else "--within"
    return fault(f"rowbench rank ({where})", "nothing to vary", "at least one value in doubt", "--within 10")
