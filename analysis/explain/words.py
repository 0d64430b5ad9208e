"""What `rowbench explain` says: every sentence is made from the numbers of the runs behind it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from analysis.crossing.breakouts import Breakout
from analysis.crossing.episodes import Episode
from analysis.crossing.heed import warnings_of
from analysis.explain.document import says
from analysis.explain.places import Place
from analysis.explain.sentences import short_of
from analysis.explain.trials.helping import LEAST, LEAST_SHARE
from analysis.explain.trials.knobs import PRECHARGE, VOLUME, Change
from analysis.explain.trials.sentences import helps_there
from analysis.explain.trials.words import trial_lines, whole_ground
from analysis.present.cautions import LOADS_NOTE, PRESSURE_NOTE, SLOT_NOTE, VESSEL_NOTE, closing
from analysis.present.edge import kmh, mm
from analysis.present.sentences import loaded
from analysis.present.texts import labelled, number, paragraph, percent, plural, short

if TYPE_CHECKING:
    from analysis.explain.explain import Explanation, Told

MOST = 3  # places, episodes and breakouts told one by one


def explain_text(told: Explanation, title: str, everything: bool = False) -> str:
    """The whole explanation as a screen of text; `everything`: all places and events, not the gravest alone."""
    run, s = told.run, told.run.settings
    first, last = told.stretch
    tolerance = short(mm(told.scenario.limits.depth_tolerance))
    w = told.whole
    most = 10**6 if everything else MOST
    lines = [
        *paragraph(
            f"{title} ({told.scenario.name}): why the depth moves from {short(first)} to {short(last)} m, "
            f"ground {told.scenario.seed}"
        ),
        *paragraph(
            f"{loaded(s.oil_pressure, run.downforce)} · {short(kmh(s.speed))} km/h · "
            f"set depth {short(mm(s.set_depth))} mm · on depth {percent(w.on_depth_share)} (±{tolerance} mm) · wheel "
            f"off {percent(w.wheel_off_share)} · mean gauge load {w.gauge_load_mean:.0f} N"
        ),
    ]
    priced: set[Change] = set()
    lines += ["", *_places(told, most, priced)]
    lines += ["", *_events("Wheel-off episodes", "wheel-off episode", told, told.episodes, most, priced)]
    lines += ["", *_events("Breakouts", "breakout", told, told.breakouts, most, priced)]
    lines += ["", *trial_lines(told), *paragraph(_least())]
    for warning in warnings_of(run, told.scenario):
        lines += labelled("Warning", f"{warning}.")
    lines += ["", *paragraph(in_short(told))]
    return "\n".join([*lines, *closing(*_notes(told))])


def in_short(told: Explanation) -> str:
    """The worst place and what helps most there."""
    if not told.places:
        return "In short: the depth is held everywhere to half a millimetre."
    worst = told.places[0]
    place = worst.what
    assert isinstance(place, Place)
    of = told.part_of(worst) or worst
    best = of.best
    text = f"In short: worst at {place.at:.2f} m, {short_of(place)}."
    if place.beyond is None and of is worst:
        return f"{text} All of the stretch is within the tolerance."
    helps = "Nothing tried helps there within the limits." if best is None else helps_there(of.event, best)
    return f"{text} {helps} {whole_ground(told)} `rowbench window` weighs all pressures and speeds."


def _least() -> str:
    return (
        f"A change counts as help from {LEAST_SHARE * 100:.0f} % of the figure on, and from "
        f"{mm(LEAST['place']):.0f} mm of depth, {number(LEAST['wheel_off'], 2)} m of travel off, "
        f"{mm(LEAST['breakout']):.0f} mm over a stone."
    )


def _notes(told: Explanation) -> list[str]:
    """What must not be forgotten; the cautions of gas and oil where another precharge or accumulator is told."""
    gas = any(s.change.knob in (PRECHARGE, VOLUME) for t in told.all_told for s in t.suggestions)
    return [SLOT_NOTE, LOADS_NOTE, *((VESSEL_NOTE, PRESSURE_NOTE) if gas else ())]


def _places(told: Explanation, most: int, priced: set[Change]) -> list[str]:
    if not told.places:
        return ["Worst places: none, the depth error is below half a millimetre everywhere"]
    within = "" if any(t.what.beyond for t in told.places) else "; all within the tolerance"  # type: ignore[union-attr]
    rest = _rest(len(told.places), most)
    lines = [f"Worst places (largest depth error first{within}{rest})"]
    for n, t in enumerate(told.places[:most], 1):
        lines += _entry(f"{n}.", says(told, t, priced))
    return lines


def _rest(count: int, most: int) -> str:
    return "" if count <= most else f"; the first {most} of {count}, --all tells all"


def _entry(mark: str, said: Sequence[str]) -> list[str]:
    lines = paragraph(said[0], first=f"  {mark} ", indent=5)
    for text in said[1:]:
        lines += paragraph(text, first="     → ", indent=7)
    return lines


def _events(
    head: str, one: str, told: Explanation, events: Sequence[Told], most: int, priced: set[Change]
) -> list[str]:
    """Head, then the gravest events one by one, and those that a place above belongs to."""
    if not events:
        return [f"{head}: none"]
    named = [told.part_of(t) for t in told.places[:most]]
    ranked = sorted(events, key=lambda t: -_gravity(t))
    shown = [t for n, t in enumerate(ranked) if n < most or any(t is other for other in named)]
    rest = "" if len(shown) == len(events) else f", the {len(shown)} gravest below (--all tells all)"
    lines = [f"{head}: {plural(len(events), one)}{rest}"]
    for t in shown:
        lines += _entry("·", says(told, t, priced))
    return lines


def _gravity(told: Told) -> float:
    return told.what.rise if isinstance(told.what, Episode | Breakout) else 0.0
