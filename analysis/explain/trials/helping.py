"""Which of the changes tried help at one place, in the order in which they are worth telling."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from analysis.explain.trials.changes import Event, Outcome, Price, Tried
from analysis.explain.trials.knobs import DEPTH, KNOBS, SPEED, Change
from analysis.present.edge import mm

LEAST_SHARE = 0.10  # share of the figure by which a change must help to be told
LEAST = {"wheel_off": 0.03, "breakout": 0.002, "place": 0.001}  # and at least this much [m]
FURTHER = 0.05  # share of a limit, or of an error, by which it must grow to count as broken further, or as worse
NOTHING_LEFT = {"wheel_off": 0.10, "breakout": float("inf"), "place": float("inf")}  # figure below which none is [m]


@dataclass(frozen=True)
class Suggestion:
    """A change that helps at one event, as found by running it."""

    change: Change
    before: float  # the event's figure [m]
    after: float
    prevents: bool  # the event is no longer there
    errors: tuple[float, float]  # largest depth error there, before and after [m]
    price: Price  # the same run over the whole ground
    breaks: frozenset[str]  # limits that it breaks and the present setting keeps, or breaks further

    def to_dict(self) -> dict[str, Any]:
        """JSON form."""
        value, step, unit = self.change.edge()
        return {
            "change": self.change.knob, "to": value, "step": step, "unit": unit,
            "before_mm": mm(self.before), "after_mm": mm(self.after), "prevents": self.prevents,
            "error_before_mm": mm(self.errors[0]), "error_after_mm": mm(self.errors[1]),
            "advised": self.advised, "breaks": sorted(self.breaks), "ground": self.price.to_dict(),
        }  # fmt: skip

    @property
    def advised(self) -> bool:
        """False for another depth, which is the crop's to decide."""
        return self.change.knob != DEPTH

    @property
    def worsens(self) -> bool:
        """True where the depth error there grows by enough to be told, though the event's own figure falls."""
        before, after = self.errors
        return after - before >= max(LEAST["place"], FURTHER * before)


def suggestions(
    events: Sequence[Event], before: Sequence[Outcome], tried: Sequence[Tried], now: Price
) -> tuple[tuple[Suggestion, ...], ...]:
    """For each event what helps, best first: of each knob and way one change.

    First what breaks no limit that the present setting keeps and does not worsen the depth there, then what ends the
    event, then what helps most; another depth after all others. Of one knob and way by the same order, but of several
    that end it the smallest step.
    """
    return tuple(_for_event(event, before[n], n, tried, now) for n, event in enumerate(events))


def _for_event(event: Event, before: Outcome, n: int, tried: Sequence[Tried], now: Price) -> tuple[Suggestion, ...]:
    best: dict[tuple[str, int], Suggestion] = {}
    for t in tried:
        if t.price is None or not _helps(event, before.figure, t.outcomes[n].figure) or _risky(event, t.change):
            continue
        after = t.outcomes[n]
        gone = before.there and not after.there and after.figure < NOTHING_LEFT[event.kind]
        errors = (before.error, after.error)
        made = Suggestion(t.change, before.figure, after.figure, gone, errors, t.price, _breaks(t.price, now))
        side = (t.change.knob, t.change.way)
        if side not in best or _within_knob(made) < _within_knob(best[side]):
            best[side] = made
    return tuple(sorted(best.values(), key=_among_knobs))


def _breaks(then: Price, now: Price) -> frozenset[str]:
    """Limits that a change breaks and the present setting keeps, and those that it breaks by clearly more."""
    before = {h.limit.name: h for h in now.held}
    further = {
        h.limit.name
        for h in then.held
        if not h.met and abs(h.value - h.asked) > abs(before[h.limit.name].value - h.asked) + FURTHER * abs(h.asked)
    }
    return (then.broken - now.broken) | (then.broken & further)


def _within_knob(s: Suggestion) -> tuple[bool, bool, bool, float]:
    return bool(s.breaks), s.worsens, not s.prevents, abs(s.change.step) if s.prevents else s.after


def _among_knobs(s: Suggestion) -> tuple[bool, bool, bool, bool, float, int]:
    return not s.advised, bool(s.breaks), s.worsens, not s.prevents, s.after, KNOBS.index(s.change.knob)


def _helps(event: Event, before: float, after: float) -> bool:
    return before - after >= max(LEAST[event.kind], LEAST_SHARE * before)


def _risky(event: Event, change: Change) -> bool:
    """Faster against a wheel in the air or a stone: what it may shorten there it pays for in blows."""
    return change.knob == SPEED and change.way > 0 and event.kind != "place"


def unhelpful(tried: Sequence[Tried], found: Sequence[Suggestion]) -> tuple[tuple[str, int], ...]:
    """Knobs and ways that were tried and have no suggestion, in the order of the knobs."""
    able = {(t.change.knob, t.change.way) for t in tried if not t.problem}
    told = {(s.change.knob, s.change.way) for s in found}
    return tuple((knob, way) for knob in KNOBS for way in (-1, 1) if (knob, way) in able and (knob, way) not in told)
