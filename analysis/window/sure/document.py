"""How sure a pick is, as a document: units in the keys, values of a scenario file in the file's own units."""

from __future__ import annotations

from typing import Any

from analysis.crossing.measures import EDGES, MEASURES
from analysis.present.edge import bar, finite, kmh
from analysis.window.pick import Pick
from analysis.window.robustness import Robustness, Spread, Trial, Tried
from analysis.window.sure.column import Standing
from analysis.window.sure.outward import Found
from analysis.window.sure.words import all_lines, assumed_sentence, end_sentence, room_sentence, spread_sentence
from scenarios.format.edge_units import to_edge


def robustness_document(sure: Robustness) -> dict[str, Any]:
    """Spread over the grounds, room, what is assumed, and every value in doubt at both ends of its range."""
    return {
        "seeds": _spread(sure.spread),
        "room": {
            "limit": sure.room.limit.key,
            "margin": finite(sure.room.margin),
            "says": room_sentence(sure.room),
        },
        "assumed": {
            "made_up": sure.assumed.made_up,
            "stated": [one.name for one in sure.assumed.stated],
            "left": dict(zip((one.name for one in sure.assumed.left), sure.assumed.keys, strict=True)),
            "says": assumed_sentence(sure.assumed),
        },
        "pressures_tried_bar": [bar(p) for p in sure.pressures],
        "speeds_tried_kmh": [kmh(v) for v in sure.speeds],
        "unchanged": _found(sure.unchanged),
        "values": [_trial(sure, one) for one in sure.trials],
        "not_tried": {one.name: why for one, why in sure.left_out},
        "says": all_lines(sure),
    }


def _spread(seeds: Spread) -> dict[str, Any]:
    nowhere = {"oil_pressure_bar": None, "speed_kmh": None}
    return {
        "picks": [
            {"seed": seed, **(nowhere if pick is None else _place(pick))}
            for seed, pick in zip(seeds.seeds, seeds.picks, strict=True)
        ],
        "at_pick": {
            MEASURES[name].window_key: [end * EDGES[MEASURES[name].edge].factor for end in ends]
            for name, ends in seeds.at_pick.items()
        },
        "says": spread_sentence(seeds),
    }


def _trial(sure: Robustness, one: Trial) -> dict[str, Any]:
    """One value, in the units of its key."""
    return {
        "name": one.doubtful.name,
        "key": one.key,
        "value": to_edge(one.now, one.edge),
        "source": one.doubtful.source,
        "moves": any(one.moves),
        **{
            name: None if tried is None else _end(sure, one, k, tried)
            for k, (name, tried) in enumerate(zip(("low", "high"), one.ends, strict=True))
        },
    }


def _end(sure: Robustness, one: Trial, k: int, tried: Tried) -> dict[str, Any]:
    return {
        "value": to_edge(tried.value, one.edge),
        "moves": one.moves[k],
        **_found(tried.found),
        "says": end_sentence(sure, one, k),
    }


def _found(found: Found) -> dict[str, Any]:
    """A changed scenario's pick or nearest setting, and how the first pick stands."""
    return {
        "pick": None if found.pick is None else _place(found.pick),
        "nearest": None
        if found.nearest is None
        else {**_place(found.nearest), "fails": found.nearest.check.limit.key, "says": found.nearest.sentence},
        "beyond_search": found.beyond,
        "at_end_of_search": list(found.edges),
        "pick_still_meets_limits": found.still_meets,
        "pick_margin": finite(found.kept.room),
        "pick_fails": None if found.still_meets else found.kept.sentence,
    }


def _place(where: Standing | Pick) -> dict[str, float]:
    return {"oil_pressure_bar": bar(where.oil_pressure), "speed_kmh": kmh(where.speed)}
