"""What `rowbench explain` says: every sentence is made from the numbers of the runs behind it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from analysis.crossing.breakouts import Breakout
from analysis.crossing.episodes import Episode
from analysis.crossing.heed import warnings_of
from analysis.explain.changes import Whole
from analysis.explain.document import says
from analysis.explain.sentences import change_words
from analysis.present.cautions import LOADS_NOTE, SLOT_NOTE, closing
from analysis.present.edge import kmh, mm
from analysis.present.sentences import items, loaded
from analysis.present.texts import labelled, paragraph, percent, plural, short, table

if TYPE_CHECKING:
    from analysis.explain.explain import Explanation, Told

MOST_EVENTS = 6  # episodes, and breakouts, told one by one


def explain_text(told: Explanation, title: str) -> str:
    """The whole explanation as a screen of text."""
    run, s = told.run, told.run.settings
    first, last = told.stretch
    tolerance = short(mm(told.scenario.limits.depth_tolerance))
    w = told.whole
    lines = [
        f"{title} ({told.scenario.name}): why the depth moves from {short(first)} to {short(last)} m, "
        f"ground number {told.scenario.seed}",
        *paragraph(
            f"{loaded(s.oil_pressure, run.downforce)} · {short(kmh(s.speed))} km/h · "
            f"set depth {short(mm(s.set_depth))} mm · on depth {percent(w.on_depth_share)} (±{tolerance} mm) · wheel "
            f"off {percent(w.wheel_off_share)} · mean gauge load {w.gauge_load_mean:.0f} N"
        ),
    ]
    lines += ["", f"Worst places (largest depth error first{_beyond(told)})"]
    lines += [line for n, t in enumerate(told.places, 1) for line in _entry(str(n), says(told, t))]
    lines += [] if told.places else ["  none: the depth error is below half a millimetre everywhere"]
    lines += ["", *_events("Wheel-off episodes", "wheel-off episode", told, told.episodes)]
    lines += ["", *_events("Breakouts", "breakout", told, told.breakouts)]
    lines += ["", *_tried(told)]
    for warning in warnings_of(run, told.scenario):
        lines += labelled("Warning", f"{warning}.")
    return "\n".join([*lines, *closing(SLOT_NOTE, LOADS_NOTE)])


def _beyond(told: Explanation) -> str:
    return "" if any(t.what.beyond for t in told.places) else "; all within the tolerance"  # type: ignore[union-attr]


def _entry(mark: str, said: Sequence[str]) -> list[str]:
    lines = paragraph(said[0], first=f"  {mark}. ")
    for text in said[1:]:
        lines += paragraph(text, first="     → ", indent=7)
    return lines


def _events(head: str, one: str, told: Explanation, events: Sequence[Told]) -> list[str]:
    """Head, then the gravest events one by one."""
    if not events:
        return [f"{head}: none"]
    ranked = sorted(events, key=lambda t: -_gravity(t))[:MOST_EVENTS]
    rest = "" if len(events) <= MOST_EVENTS else f", the {MOST_EVENTS} gravest of them below (--json has all)"
    lines = [f"{head}: {plural(len(events), one)}{rest}"]
    for t in ranked:
        lines += _entry("·", says(told, t))
    return [line.replace("  ·. ", "  · ") for line in lines]


def _gravity(told: Told) -> float:
    return told.what.rise if isinstance(told.what, Episode | Breakout) else 0.0


def _tried(told: Explanation) -> list[str]:
    """What every change gives over the whole stretch."""
    rows = [("as it is", *_shares(told.whole))]
    missing = []
    for t in told.tried:
        if t.whole is None:
            missing.append(f"{change_words(t.change)}: could not be crossed, {t.problem}")
        else:
            rows.append((change_words(t.change), *_shares(t.whole)))
    head = ("Tried on the same ground", "on depth", "wheel off", "mean gauge load")
    return table(head, rows, indent=0) + items(*missing)


def _shares(w: Whole) -> tuple[str, str, str]:
    return percent(w.on_depth_share), percent(w.wheel_off_share), f"{w.gauge_load_mean:.0f} N"
