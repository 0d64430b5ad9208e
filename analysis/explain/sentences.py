"""Sentences of `rowbench explain`, one a happening: each is made from the numbers of the runs behind it."""

from __future__ import annotations

from analysis.crossing.breakouts import Breakout
from analysis.crossing.episodes import AT_STOP, NO_CUSHION, ROCK, THROWN, TOO_HARD, Episode
from analysis.explain.parts import in_whole
from analysis.explain.places import GroundThere, Place, wheel_behind
from analysis.explain.wheel.words import load_sentence
from analysis.present.edge import bar, mm
from analysis.present.sentences import capital, spoken
from analysis.present.texts import number, signed
from sim.record import Run

STEEP = 0.03  # slope that is told [1]
BENT = 0.008  # crest or dip that is told [m]

WHY = 0.25  # share of the error from tyre and sinkage from which on it is told what loads the wheel

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
SQUASH = ("by_load", "by_soil", "by_motion")  # what tyre and sinkage are made of, as told
TYRE = "tyre_and_sinkage"


def place_sentence(place: Place, run: Run) -> str:
    """Where, how much, which part gives how much, what the ground does, what the wheel carries and why."""
    parts = told_in_mm(place)
    shown = {name: value for name, value in {**parts, TYRE: squash_of(parts)}.items() if name not in SQUASH}
    said = [_part(name, parts, place, run) for name in sorted(shown, key=lambda name: -abs(shown[name])) if shown[name]]
    sums = f": {'; '.join(said)}" if said else ""
    text = f"At {place.at:.2f} m {_how_far(place)}{_reach(place)}{sums}. {ground_words(place.ground)}."
    if place.load is None:
        return text
    why = abs(squash_of(parts)) >= WHY * abs(mm(place.error))
    return f"{text} {load_sentence(place, run, why)}"


def told_in_mm(place: Place) -> dict[str, int]:
    """The parts of a place's error in whole millimetres, tyre and sinkage by its own parts: they add up to it."""
    split = place.squash
    if split is None or place.off:
        return in_whole(place.parts, 1e-3)
    others = {name: value for name, value in place.parts.items() if name != TYRE}
    return in_whole({**others, **dict(zip(SQUASH, split[:3], strict=True))}, 1e-3)


def squash_of(parts: dict[str, int]) -> int:
    """Millimetres from tyre and sinkage, in parts or as one."""
    return parts.get(TYRE, 0) + sum(parts.get(name, 0) for name in SQUASH)


def _how_far(place: Place) -> str:
    """How far the disc is from its depth.

    A disc in the air is no shallow slot: it digs none.
    """
    far = number(abs(mm(place.error)), 0)
    if place.depth <= 0.0:
        return f"the disc is out of the ground, {number(-mm(place.depth), 0)} mm above it, {far} mm from its depth"
    return f"the slot is {far} mm too {'deep' if place.error > 0.0 else 'shallow'}"


def short_of(place: Place) -> str:
    """The same in a few words: "25 mm too deep", "disc out of the ground"."""
    if place.depth <= 0.0:
        return f"disc out of the ground, {number(-mm(place.depth), 0)} mm above it"
    return f"{number(abs(mm(place.error)), 0)} mm too {'deep' if place.error > 0.0 else 'shallow'}"


def _reach(place: Place) -> str:
    if place.beyond is None:
        return " (within the tolerance)"
    return f" (beyond the tolerance from {place.beyond[0]:.2f} to {place.beyond[1]:.2f} m)"


def _part(name: str, parts: dict[str, int], place: Place, run: Run) -> str:
    """One part of the error with what stands behind it."""
    if name == TYRE:
        return f"{signed(squash_of(parts), 0)} mm from {PART_NAMES[name]}{_squash(parts, place)}"
    why = "since the gauge wheel is off" if name == "lift_off" else f"from {PART_NAMES[name]}"
    return f"{signed(parts[name], 0)} mm {why}{_behind(name, parts[name], place, run)}"


def _behind(name: str, value: int, place: Place, run: Run) -> str:
    if name == "ground_shape":
        behind = wheel_behind(run)
        way, side = "higher" if value > 0 else "lower", "behind" if behind >= 0 else "ahead"
        return f" ({way} under the disc than under the gauge wheel, {mm(abs(behind)):.0f} mm {side})"
    if name == "lift_off":
        return f" ({number(mm(place.gap), 0)} mm of air under it, and tyre and soil sprung back)"
    if name == "linkage":
        stands = f"the arm stands {_degrees(place.arm)} from where it was set"
        play = round(mm(place.play))
        if not play:
            return f" ({stands})"
        return " (play in worn pins)" if abs(value - play) <= 1 else f" ({play:+d} play in worn pins; {stands})"
    return f" (its nose {_degrees(abs(place.pitch))} {'up' if place.pitch > 0 else 'down'})"


def _squash(parts: dict[str, int], place: Place) -> str:
    """What the squash comes from, where it is more than the load alone."""
    if place.squash is None or TYRE in parts:
        return ""
    share = f"{place.squash.strength * 100:.0f} % of the strength when set"
    names = {
        "by_load": "from more load" if parts["by_load"] > 0 else "from less load",
        "by_soil": f"from {'softer' if parts['by_soil'] > 0 else 'harder'} soil ({share})",
        "by_motion": "still moving",
    }
    told = [name for name in SQUASH if parts[name]]
    if told == ["by_load"]:
        return f" ({names['by_load'].removeprefix('from ')} on the wheel)"
    return ": " + ", ".join(f"{signed(parts[name], 0)} {names[name]}" for name in told)


def ground_words(ground: GroundThere) -> str:
    """What the ground does at the disc, in words."""
    rate = f"{abs(ground.slope) * 100:.0f} cm a metre"
    level = abs(ground.slope) < STEEP
    way = "is nearly level" if level else f"climbs {rate}" if ground.slope > 0 else f"falls {rate}"
    text = f"the ground {way}"
    if level and ground.step:
        text += " there"
    if ground.bend >= BENT:
        text += f" over a crest ({mm(ground.bend):.0f} mm above the ground half a metre either side)"
    elif ground.bend <= -BENT:
        text += f" through a dip ({-mm(ground.bend):.0f} mm below the ground half a metre either side)"
    if level and ground.step:
        kind, high = "rise" if ground.step > 0 else "fall", 10 * round(abs(mm(ground.step)) / 10.0)
        text += f", beside a {kind} of {high} mm within a metre at {ground.step_at:.1f} m"
    if ground.stone > 0.0:
        where = (
            f"{number(ground.stone_behind, 2)} m behind the disc" if ground.stone_behind >= 0.03 else "under the disc"
        )
        text += f"; a stone {mm(ground.stone):.0f} mm proud lies {where}"
    return capital(text)


def _degrees(angle: float) -> str:
    return f"{number(angle * 57.29577951308232)}°"


def episode_sentence(e: Episode, set_depth: float) -> str:
    """Where the wheel is off, for how long, how high, and why; set depth [m]."""
    rise = max(e.rise, 0.0)
    over = number(mm(rise - set_depth), 0)
    high = (
        f"the disc out of the ground, up to {over} mm above it"
        if rise >= set_depth
        else f"the slot up to {number(mm(rise), 0)} mm too shallow"
    )
    beyond = f"beyond the tolerance for {number(e.shallow, 2)} m of it" if e.shallow > 0 else "within the tolerance"
    return (
        f"At {e.start:.2f} m the wheel is off for {number(e.length, 2)} m, up to {number(mm(e.gap), 0)} mm over the "
        f"ground; {high}, {beyond}. Cause: {CAUSES[e.cause]}."
    )


def breakout_sentence(b: Breakout) -> str:
    """Where the unit is thrown out, how high, how hard, and how long it takes to be back."""
    back = "depth is not regained" if b.regain is None else f"depth is back after {number(b.regain, 2)} m"
    return (
        f"At {b.position:.2f} m a stone lifts the disc {number(mm(b.rise), 0)} mm; {back}. "
        f"Up to {number(b.disc_peak / 1e3)} kN on the disc, {number(b.pin_peak / 1e3)} kN on the most loaded pin "
        f"({spoken(b.pin)}), oil up to {number(bar(b.pressure_max), 0)} bar."
    )
