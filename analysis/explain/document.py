"""An explanation as the document that `--json` prints, and what it says of each happening."""

from __future__ import annotations

from typing import Any

from analysis.crossing.breakouts import Breakout
from analysis.crossing.episodes import Episode
from analysis.crossing.heed import warnings_of
from analysis.explain.explain import Explanation, Told
from analysis.explain.parts import along, told_parts
from analysis.explain.places import Place
from analysis.explain.sentences import breakout_sentence, episode_sentence, place_sentence
from analysis.explain.trials.knobs import Change
from analysis.explain.trials.sentences import helps_there, suggestion_sentences
from analysis.present.edge import bar, kgf, kmh, mm
from analysis.version import VERSION
from sim.record import CAUSES


def document(made: Explanation) -> dict[str, Any]:
    """JSON document: settings, stretch, mean parts, places, episodes, breakouts and all changes tried."""
    run, s = made.run, made.run.settings
    x = along(run)
    inside = (x >= made.stretch[0]) & (x <= made.stretch[1])
    parts = told_parts(run)
    error = run.series["depth"] - s.set_depth
    return {
        "scenario": made.scenario.name,
        "settings": {
            "oil_pressure_bar": bar(s.oil_pressure), "speed_kmh": kmh(s.speed), "set_depth_mm": mm(s.set_depth),
            "downforce_kgf": kgf(run.downforce), "setting": s.setting,
        },
        "from_m": made.stretch[0],
        "to_m": made.stretch[1],
        "depth_tolerance_mm": mm(made.scenario.limits.depth_tolerance),
        "stretch": made.whole.to_dict(),
        "ground": made.price.to_dict(),
        "parts_mean_mm": {name: mm(float(parts[name][inside].mean())) for name in CAUSES},
        "sum_residual_mm": mm(float(abs(sum(parts.values()) - error).max())),
        "places": [{**_place(t), "says": says(made, t)} for t in made.places],
        "wheel_off_episodes": [{**_episode(t), "says": says(made, t)} for t in made.episodes],
        "breakouts": [{**_breakout(t), "says": says(made, t)} for t in made.breakouts],
        "best_over_ground": None if made.best_of_all is None else made.best_of_all.to_dict(),
        "tried": [t.to_dict() for t in made.tried],
        "warnings": warnings_of(run, made.scenario),
        "run": {"seed": made.scenario.seed, "version": VERSION},
    }  # fmt: skip


def says(made: Explanation, told: Told, priced: set[Change] | None = None) -> list[str]:
    """What happens there, then what helps, with the figures it helps by and its price.

    `priced`: changes whose price has been told and is not told again; those told here are added.
    """
    what = told.what
    if isinstance(what, Place):
        first = place_sentence(what, made.run)
    elif isinstance(what, Episode):
        first = episode_sentence(what, made.run.settings.set_depth)
    else:
        first = breakout_sentence(what)
    if (other := made.part_of(told)) is not None:
        return [first, _part_of(other)]
    if isinstance(what, Place) and what.beyond is None:
        return [first, "Nothing has to be changed for that: it is within the tolerance."]
    known = set() if priced is None else priced
    return [first, *suggestion_sentences(told.event, told.suggestions, made.tried, made.price, known)]


def _part_of(other: Told) -> str:
    """Which breakout or episode a place belongs to, and what helps most there."""
    kind = "breakout" if isinstance(other.what, Breakout) else "wheel-off episode"
    where = other.what.position if isinstance(other.what, Breakout) else other.what.start  # type: ignore[union-attr]
    none = "Nothing tried helps there within the limits."
    helps = none if other.best is None else helps_there(other.event, other.best)
    return f"Part of the {kind} at {where:.2f} m, below. {helps}"


def _of(told: Told) -> dict[str, Any]:
    return {"helps": [s.to_dict() for s in told.suggestions]}


def _place(told: Told) -> dict[str, Any]:
    assert isinstance(told.what, Place)
    return {**told.what.to_dict(), **_of(told)}


def _episode(told: Told) -> dict[str, Any]:
    e = told.what
    assert isinstance(e, Episode)
    return {
        "start_m": e.start, "length_m": e.length, "rise_mm": mm(e.rise), "gap_mm": mm(e.gap),
        "shallow_m": e.shallow, "cause": e.cause, **_of(told),
    }  # fmt: skip


def _breakout(told: Told) -> dict[str, Any]:
    b = told.what
    assert isinstance(b, Breakout)
    return {
        "position_m": b.position, "rise_mm": mm(b.rise), "regain_m": b.regain,
        "disc_peak_N": b.disc_peak, "pin": b.pin, "pin_peak_N": b.pin_peak,
        "pressure_max_bar": bar(b.pressure_max), **_of(told),
    }  # fmt: skip
