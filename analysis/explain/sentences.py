"""Sentences of `rowbench explain`, one a happening: each is made from the numbers of the runs behind it."""

from __future__ import annotations

from collections.abc import Sequence

from analysis.crossing.breakouts import Breakout
from analysis.crossing.episodes import AT_STOP, NO_CUSHION, ROCK, THROWN, TOO_HARD, Episode
from analysis.explain.changes import DEPTH, KNOBS, PRESSURE, SPEED, Change, Event, Suggestion, Tried, unhelpful
from analysis.explain.places import GroundThere, Place, wheel_behind
from analysis.present.edge import bar, mm
from analysis.present.sentences import by_mm, capital, spoken
from analysis.present.texts import number, short, signed
from sim.record import Run

STEEP = 0.03  # slope that is told [1]
BENT = 0.008  # crest or dip that is told [m]
TOLD_PART = 0.0005  # a smaller part of the error is not told singly [m]

PART_NAMES = {
    "ground_shape": "ground shape",
    "tyre_and_sinkage": "tyre and sinkage",
    "linkage": "linkage",
    "toolbar_pitch": "toolbar pitch",
    "lift_off": "wheel off",
}
CAUSES = {
    ROCK: "a stone lifted the disc",
    AT_STOP: "the arm came to its travel stop",
    NO_CUSHION: "the accumulator had no oil left, so the pressure fell",
    TOO_HARD: "the soil there is too hard for the pressure",
    THROWN: "the ground threw the unit up",
}


def place_sentence(place: Place, run: Run) -> str:
    """Where, how much, what the ground does, which part gives how much, what the wheel carries."""
    reach = "" if place.beyond is None else f" (beyond the tolerance from {_span(place.beyond)} m)"
    off = by_mm(place.error, "too deep", "too shallow")
    text = f"At {place.at:.2f} m, {off}{reach}. {ground_words(place.ground)}. "
    parts = sorted(place.parts.items(), key=lambda item: -abs(item[1]))
    said = [_part(name, value, place, run) for name, value in parts if abs(value) >= TOLD_PART]
    text += capital("; ".join(said)) if said else "No part gives as much as half a millimetre"
    rest = place.error - sum(value for _, value in parts if abs(value) >= TOLD_PART)
    left = f"; the rest together {signed(mm(rest))} mm" if said and abs(rest) >= 0.00005 else ""
    wheel = "" if place.off else f" The gauge wheel carries {place.gauge_load:.0f} N, {place.set_load:.0f} N when set."
    return f"{text}{left}.{wheel}"


def _span(ends: tuple[float, float]) -> str:
    return f"{ends[0]:.2f} to {ends[1]:.2f}"


def ground_words(ground: GroundThere) -> str:
    """What the ground does at the disc, in words."""
    rate = f"{abs(ground.slope) * 100:.0f} cm a metre"
    way = (
        f"climbs {rate}" if ground.slope >= STEEP else f"falls {rate}" if ground.slope <= -STEEP else "is nearly level"
    )
    text = f"the ground {way}"
    if ground.bend >= BENT:
        text += f" over a crest ({mm(ground.bend):.0f} mm above the ground half a metre either side)"
    elif ground.bend <= -BENT:
        text += f" through a dip ({-mm(ground.bend):.0f} mm below the ground half a metre either side)"
    if ground.stone > 0.0:
        where = (
            f"{number(ground.stone_behind, 2)} m behind the disc" if ground.stone_behind >= 0.03 else "under the disc"
        )
        text += f"; a stone {mm(ground.stone):.0f} mm proud lies {where}"
    return capital(text)


def _part(name: str, value: float, place: Place, run: Run) -> str:
    """One part of the error with what stands behind it."""
    figure = f"{signed(mm(value))} mm"
    if name == "ground_shape":
        behind = wheel_behind(run)
        side = "behind" if behind >= 0 else "ahead of"
        return (
            f"the ground under the disc is {by_mm(value, 'higher', 'lower')} than what the gauge wheel rides on, its "
            f"axle {mm(abs(behind)):.0f} mm {side} the disc's: {PART_NAMES[name]} {figure}"
        )
    if name == "tyre_and_sinkage":
        way = "more" if value > 0 else "less"
        return f"tyre and soil give way {way} under the wheel than when set: {PART_NAMES[name]} {figure}"
    if name == "lift_off":
        return (
            f"the gauge wheel is off, {number(mm(place.gap))} mm over the ground; gap and lost squash together: "
            f"{PART_NAMES[name]} {figure}"
        )
    if name == "linkage":
        return f"the arm stands {_degrees(place.arm)} from where it was set: {PART_NAMES[name]} {figure}"
    return f"the toolbar's nose points {_degrees(abs(place.pitch))} {'up' if place.pitch > 0 else 'down'}: " \
           f"{PART_NAMES[name]} {figure}"  # fmt: skip


def _degrees(angle: float) -> str:
    return f"{number(angle * 57.29577951308232)}°"


def episode_sentence(e: Episode) -> str:
    """Where the wheel is off, for how long, how high, and why."""
    shallow = f"; {number(e.shallow, 2)} m of it too shallow" if e.shallow > 0 else "; depth stays within the tolerance"
    return (
        f"At {e.start:.2f} m the wheel is off for {number(e.length, 2)} m, up to {number(mm(e.gap))} mm over the "
        f"ground, the slot up to {number(mm(max(e.rise, 0.0)))} mm too shallow{shallow}. Cause: {CAUSES[e.cause]}."
    )


def breakout_sentence(b: Breakout) -> str:
    """Where the unit is thrown out, how high, how hard, and how long it takes to be back."""
    back = "depth is not regained" if b.regain is None else f"depth is back after {number(b.regain, 2)} m"
    return (
        f"At {b.position:.2f} m a stone lifts the disc {number(mm(b.rise), 0)} mm; {back}. "
        f"Up to {number(b.disc_peak / 1e3)} kN on the disc, {number(b.pin_peak / 1e3)} kN on the most loaded pin "
        f"({spoken(b.pin)}), oil up to {number(bar(b.pressure_max))} bar."
    )


# --- suggestions ------------------------------------------------------------------------------------------------


def change_words(change: Change) -> str:
    """A change as a user would say it: "70 bar (+10)"."""
    value, step, unit = change.edge()
    if change.knob == DEPTH:
        return f"set depth {short(value)} mm ({signed(step, 0)})"
    return f"{number(value, 1).removesuffix('.0')} {unit} ({signed(step, 0)})"


def suggestion_sentences(event: Event, found: Sequence[Suggestion], tried: Sequence[Tried]) -> list[str]:
    """Each suggestion with its figure, then the changes that were tried and do not help."""
    said = [suggestion_sentence(event, s) for s in found]
    idle = unhelpful(tried, found)
    if idle:
        verb = "does" if len(idle) == 1 else "do"
        named = [_tried_words(knob, tried) for knob in KNOBS if knob in idle]
        said.append(f"Tried, {verb} not help here: {', '.join(named)}.")
    return said


def suggestion_sentence(event: Event, s: Suggestion) -> str:
    """What a change does at an event: figure before and after, as run."""
    start = capital(change_words(s.change))
    if event.kind == "wheel_off":
        figures = f"off for {number(s.before, 2)} m → {number(s.after, 2)} m"
        verdict = "prevents it" if s.prevents else "shortens it"
    elif event.kind == "breakout":
        figures = f"lifted {number(mm(s.before), 0)} mm → {number(mm(s.after), 0)} mm"
        verdict = "prevents it" if s.prevents else "lowers it"
    else:
        figures = f"largest error {number(mm(s.before))} mm → {number(mm(s.after))} mm"
        verdict = "brings it within the tolerance" if s.prevents else "lessens it"
    return f"{start} {verdict}: {figures}."


def _tried_words(knob: str, tried: Sequence[Tried]) -> str:
    """The knob and the farthest step of it that was tried."""
    _, step, unit = max((t.change for t in tried if t.change.knob == knob and not t.problem),
                        key=lambda c: abs(c.step)).edge()  # fmt: skip
    amount = f"{number(abs(step), 0)} {unit}"
    if knob == PRESSURE:
        return f"up to {amount} more"
    return f"up to {amount} slower" if knob == SPEED else f"up to {amount} shallower"
