"""What a window advises, as the document that `--json` prints: units in the keys, sentences under `says` and `why`."""

from __future__ import annotations

from typing import Any

from analysis.present.edge import bar, finite, kgf, kmh, mm
from analysis.stones.document import loads_document
from analysis.window.advice import Advice
from analysis.window.document import window_document
from analysis.window.doubt.document import chance_document, grid_document, matters_document
from analysis.window.doubt.pick import Doubt
from analysis.window.doubt.words import reasons
from analysis.window.feature.at_feature import AtFeature
from analysis.window.gain import Gain, Use
from analysis.window.grid import Window
from analysis.window.help_words import helps
from analysis.window.pick import Nearest, Pick
from analysis.window.search import Searched, Tried
from analysis.window.sentences import (
    headline,
    nearest_sentence,
    weight_warning,
)
from analysis.window.sure.document import robustness_document
from analysis.window.weight import Weight


def advice_document(advice: Advice) -> dict[str, Any]:
    """Axes, grids, limits, then `pick` and what is told beside it; None where no setting tried is to be set: `nearest`
    is then the one that fails least, for information. `headline` says which.
    """
    window, outcome = advice.window, advice.outcome
    pick: dict[str, Any] | None = None
    if isinstance(outcome, Pick):
        sure = robustness_document(advice.robustness) if advice.robustness else None
        buys = gain_document(advice.gain) if advice.gain else None
        pick = {
            **choice_document(window, outcome, advice.doubt),
            **_chance(advice, outcome),
            "robustness": sure,
            "buys": buys,
        }
    return {
        "scenario": window.scenario,
        "headline": headline(outcome),
        **window_document(window),
        **grid_document(advice.doubt),
        "pick": pick,
        "nearest": None
        if isinstance(outcome, Pick)
        else {**choice_document(window, outcome), **_chance(advice, outcome)},
        "matters_most": matters_document(advice.robustness),
        "stones": loads_document(advice.stones),
        "weight": weight_document(advice.weight),
    }


def _chance(advice: Advice, found: Pick | Nearest) -> dict[str, Any]:
    """The chance of a setting, where it was looked at."""
    return {} if advice.doubt is None else chance_document(advice.doubt, found)


def choice_document(window: Window, choice: Pick | Nearest, doubt: Doubt | None = None) -> dict[str, Any]:
    """The pick with its reasons, or the nearest setting with what it fails and what would help."""
    set_to = {
        "oil_pressure_bar": bar(choice.oil_pressure),
        "speed_kmh": kmh(choice.speed),
        "set_depth_mm": choice.set_depth_mm,
        "at_edge": list(choice.at_edge),
        "downforce_kgf": kgf(choice.downforce),
        "depth_setting_change_mm": finite(mm(choice.setting_change)),
    }
    if isinstance(choice, Pick):
        told: dict[str, Any] = {"why": list(reasons(window, choice, doubt))}
    else:
        told = {
            "fails": [check.limit.key for check in choice.failing],
            "says": nearest_sentence(choice),
            "helps": list(helps(window, choice)),
        }
    margins = {check.limit.key: finite(check.margin) for check in choice.checks}
    return {**set_to, **told, "margins": margins, "warnings": list(choice.warnings), "notes": list(choice.notes)}


def gain_document(gain: Gain) -> dict[str, Any]:
    """The pick beside the file's present settings."""
    return {"pick": _use(gain.pick), "present": _use(gain.present)}


def _use(use: Use) -> dict[str, Any]:
    return {
        "oil_pressure_bar": bar(use.oil_pressure),
        "speed_kmh": kmh(use.speed),
        "set_depth_mm": round(mm(use.set_depth), 9),
        "precharge_bar": bar(use.precharge),
        "setting": use.setting,
        "on_depth_share": use.on_depth_share,
        "wheel_off_share": use.wheel_off_share,
        **({} if use.at is None else _at_feature(use.at)),
        "hectares_per_hour": use.hectares_per_hour,
        **({"reason": use.reason} if use.reason else {}),
        **({"warnings": list(use.warnings)} if use.warnings else {}),
    }


def _at_feature(found: AtFeature) -> dict[str, Any]:
    return {
        "slot_deepest_mm": mm(found.deepest),
        "slot_shallowest_mm": mm(found.shallowest),
        "off_depth_at_one_place_m": found.off_depth,
        "wheel_off_at_one_place_m": found.wheel_off,
    }


def weight_document(weight: Weight) -> dict[str, Any]:
    """Rows × downforce against the weight on the toolbar's wheels."""
    return {
        "rows": weight.rows,
        "downforce_kgf": kgf(weight.downforce),
        "lift_kgf": kgf(weight.lift),
        "mass_kg": kgf(weight.weight),
        "remaining_share": weight.remaining_share,
        "warning": weight_warning(weight) or None,
    }


def searched_document(found: Searched, advice: Advice) -> dict[str, Any]:
    """The best window's document, its precharge in its pick, the depths that are wanted, every window under
    `searched`: one whose depth is not wanted has no pick, what it `would_allow` is told for information.
    """
    document = advice_document(advice)
    for key in ("pick", "nearest"):
        if document[key] is not None:
            document[key] = {**document[key], **found.best.pair(), "at_edge": list(advice.outcome.at_edge)}
    pairs, wanted = [one.pair() for one in found.tried], found.wanted
    return {
        **document,
        "precharges_bar": sorted({pair["precharge_bar"] for pair in pairs}),
        "depths_mm": sorted({pair["set_depth_mm"] for pair in pairs}),
        "depths_wanted": {"from_mm": wanted.low_mm, "to_mm": wanted.high_mm, "source": wanted.source},
        "searched": [_tried(one) for one in found.tried],
    }


def _tried(one: Tried) -> dict[str, Any]:
    """The pair, its window, its pick or None and the setting that fails least or None; what it would allow where its
    depth is not wanted.
    """
    found = {**choice_document(one.window, one.outcome), **one.pair()}
    picked = isinstance(one.outcome, Pick)
    return {
        **one.pair(),
        **window_document(one.window),
        "wanted": one.wanted,
        "pick": found if one.wanted and picked else None,
        "nearest": found if one.wanted and not picked else None,
        **({} if one.wanted else {"would_allow": found if picked else None}),
    }
