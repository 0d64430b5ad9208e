"""What `rowbench rank --measure pick` tells: how far each value moves the speed at which limits stop holding."""

from __future__ import annotations

from typing import Any

from analysis.present.edge import kmh
from analysis.present.sentences import items, numbered, sentence
from analysis.present.texts import number, paragraph, plural, signed, table
from analysis.rank.pick import PickRanking
from analysis.rank.shares import Screened
from analysis.rank.words import spoken_key

LITTLE = 0.1  # [km/h]


def pick_text(found: PickRanking, title: str) -> str:
    """The screen: one answer first, a table, then how sure."""
    by = "each value as far as it is in doubt" if found.share is None else f"each value ±{found.share * 100:g} %"
    lines = [*paragraph(f"What moves the speed up to which some pressure meets every limit: {title}; {by}"), ""]
    lines += [*items(_first(found)), ""]
    rows = [(spoken_key(knob), number(_kmh(found.effects, "size", i)), signed(_kmh(found.effects, "mean", i)),
             number(_kmh(found.effects, "scatter", i))) for i, knob in enumerate(found.knobs)]  # fmt: skip
    lines += table(("low end → high end, km/h", "size", "way", "scatter"), rows)
    return "\n".join([*lines, "", *items(*_sure(found))])


def _kmh(effects: Screened, part: str, i: int) -> float:
    return float(getattr(effects, part)[i, 0]) * 3.6


def _first(found: PickRanking) -> str:
    moving = [i for i in range(len(found.knobs)) if _kmh(found.effects, "size", i) >= LITTLE]
    own = f"with the file's values {number(kmh(found.speed))} km/h"
    if not moving:
        return sentence(f"None of the values tried moves it by {LITTLE} km/h; {own}")
    lead = moving[0]
    way = signed(_kmh(found.effects, "mean", lead))
    return sentence(
        f"{spoken_key(found.knobs[lead])} moves it most: {number(_kmh(found.effects, 'size', lead))} km/h from end to "
        f"end of its range in the mean ({way} from low to high); {own}"
    )


def _sure(found: PickRanking) -> list[str]:
    slow, fast = found.ends
    said = [
        f"screened, not shared out: {plural(found.windows, 'window')} on "
        f"{numbered('ground', found.scenario.search_seeds)}, the same for all; the speed is read off between the "
        "speeds of the search, where the pick itself takes one of them. Size: mean without sign; scatter: how much it "
        "hangs on the other values",
    ]
    if slow or fast:
        said.append(f"in {slow} of them no setting met every limit, counted as the slowest speed tried; in {fast} the "
                    "fastest still did: what lies beyond is not seen (search.speeds_kmh)")  # fmt: skip
    if found.rest:
        said.append(f"{plural(found.rest, 'more value')} moved no measure at the file's own setting as much, and "
                    "the pick was not tried with them (--keys names others)")  # fmt: skip
    if found.tally.total:
        said.append(f"{plural(found.tally.total, 'set')} could not be crossed: "
                    + "; ".join(f"{n} {why}" for why, n in found.tally.reasons.most_common(3)))  # fmt: skip
    return [sentence(text) for text in said]


def pick_document(found: PickRanking) -> dict[str, Any]:
    """The same as a document."""
    return {
        "scenario": found.scenario.name,
        "measure": "pick",
        "seeds": list(found.scenario.search_seeds),
        "ranges": "believed" if found.share is None else "within",
        "within_percent": None if found.share is None else found.share * 100.0,
        "speed_up_to_which_limits_hold_kmh": kmh(found.speed),
        "values": [
            {
                "key": knob.name, "says": knob.words, "group": knob.group, "value": knob.value, "low": knob.low,
                "high": knob.high, "mean_size_kmh": _kmh(found.effects, "size", i),
                "mean_kmh": _kmh(found.effects, "mean", i), "scatter_kmh": _kmh(found.effects, "scatter", i),
            }
            for i, knob in enumerate(found.knobs)
        ],
        "windows": found.windows,
        "windows_at_slowest": found.ends[0],
        "windows_at_fastest": found.ends[1],
        "not_tried": found.rest,
        "sets_not_crossed": dict(found.tally.reasons),
    }  # fmt: skip
