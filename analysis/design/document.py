"""A search over designs as a document, units in its keys."""

from __future__ import annotations

from typing import Any

from analysis.design.files import file_names
from analysis.design.judged import Judged
from analysis.design.search import Search
from analysis.present.edge import kmh


def design_document(found: Search) -> dict[str, Any]:
    """The front with its values, worths and new grounds; how many were tried."""
    space = found.space
    return {
        "scenario": space.scenario.name,
        "free": [{"key": knob.name, "low": knob.low, "high": knob.high, "value": knob.value,
                  "moves_together": list(knob.members)} for knob in space.free],
        "speeds_kmh": [kmh(v) for v in space.speeds],
        "seeds": list(found.seeds),
        "new_seeds": list(found.new_seeds),
        "designs_tried": found.tried,
        "designs_asked": found.asked,
        "designs_that_meet_every_limit": found.met,
        "designs_not_crossed": found.uncrossed,
        "designs_on_the_front": len(found.whole),
        "own": _worth(found.own),
        "nearest": None if found.nearest is None else _worth(found.nearest),
        "front": [
            {
                "file": name,
                "values": dict(space.changes(one.point)),
                **_worth(one),
                "new_ground": _worth(found.unseen[i]) if found.unseen else None,
            }
            for i, (name, one) in enumerate(zip(file_names(found), found.front, strict=True))
        ],
    }  # fmt: skip


def _worth(one: Judged) -> dict[str, Any]:
    known = one.worth
    keys = ("hectares_per_hour", "on_depth_share", "pin_rms_N", "pin_peak_N", "wheel_off_share", "press_load_mean_N")
    values = (None,) * len(keys) if known is None else known
    return {**dict(zip(keys, values, strict=True)), "meets_all_limits": one.meets, "fails": one.why or None}
