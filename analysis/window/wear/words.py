"""What play in the pins costs, in sentences, and as a document."""

from __future__ import annotations

import math
from typing import Any

from analysis.present.edge import bar, finite, kmh, mm
from analysis.present.sentences import SCREEN, joined, known, setting
from analysis.present.texts import short
from analysis.window.pick import Nearest, Pick
from analysis.window.wear.cost import ALL, DEPTH, FITTING, MAIN, At, WearCost
from scenarios.scenario import Scenario
from sim.unit import Clearance

SAFE = "machine on stands and oil pressure relieved before a pin is pulled"
TOLD_SHARE = 0.005  # of the way: what differs by less costs nothing to speak of
TOLD_SLOT = 2e-3  # the same of the slot's depth at its worst [m]


def wear_words(cost: WearCost, scenario: Scenario) -> list[str]:
    """What the play costs: the pick, then the slot at one setting, then whose pins' play that is."""
    said = [_pick_words(cost)]
    if math.isfinite(cost.at[ALL].on_depth_share) and math.isfinite(cost.at[FITTING].on_depth_share):
        said += [_slot_words(cost, scenario), _whose_words(cost, scenario)]
    return said


def play_words(play: Clearance) -> str:
    """The play of each group of pins.

    >>> play_words(Clearance(0.002, 0.002, 0.002)), play_words(Clearance(main_pins=0.0015))
    ('2 mm of play in main pins, depth linkage and gauge arm', '1.5 mm of play in main pins')
    """
    groups = {"main pins": play.main_pins, "depth linkage": play.depth_linkage, "gauge arm": play.gauge_arm}
    by_size: dict[float, list[str]] = {}
    for name, size in groups.items():
        if size > 0.0:
            by_size.setdefault(size, []).append(name)
    return "; ".join(f"{short(mm(size))} mm of play in {joined(names)}" for size, names in by_size.items())


def _pick_words(cost: WearCost) -> str:
    worn, fitting, play = cost.worn, cost.fitting, play_words(cost.clearance)
    if isinstance(worn, Nearest):
        if isinstance(fitting, Nearest):
            return f"with {play} no setting meets every limit, and none does with pins that fit"
        return f"with {play} no setting meets every limit; with pins that fit {_set_to(fitting)} does"
    if isinstance(fitting, Nearest):
        return (
            f"with {play} the pick is {_set_to(worn)}, with pins that fit no setting meets every limit: no reason to "
            "keep the wear, loose pins also let the wheel touch the ground without carrying"
        )
    if (worn.oil_pressure, worn.speed) == (fitting.oil_pressure, fitting.speed):
        return f"with {play} the pick stays {_set_to(worn)}"
    return f"with {play} the pick is {_set_to(worn)} in place of {_set_to(fitting)} with pins that fit"


def _set_to(found: Pick | Nearest) -> str:
    return setting(found.oil_pressure, found.speed, SCREEN)


def _slot_words(cost: WearCost, scenario: Scenario) -> str:
    at = f"at {setting(cost.oil_pressure, cost.speed, SCREEN, ' and ')} the slot"
    worn, fitting = cost.at[ALL], cost.at[FITTING]
    if scenario.limits.on_feature:
        with_it, without = _slot(worn), _slot(fitting)
        head, tail = f"{at} is", " deep at its worst"
    else:
        with_it, without = known(worn.on_depth_share), known(fitting.on_depth_share)
        head, tail = f"{at} is on depth for", " of the way"
    return f"{head} {with_it}{tail}{' with and without it' if with_it == without else f' in place of {without}'}"


def _slot(at: At) -> str:
    return f"{mm(at.slot.shallowest):.0f} to {mm(at.slot.deepest):.0f} mm"


def _whose_words(cost: WearCost, scenario: Scenario) -> str:
    """Which bushes to renew first."""
    by = {name: _loss(cost.at[FITTING], cost.at[name], scenario) for name in (ALL, MAIN, DEPTH)}
    least = TOLD_SLOT if scenario.limits.on_feature else TOLD_SHARE
    play = cost.clearance
    both = play.main_pins > 0.0 and max(play.depth_linkage, play.gauge_arm) > 0.0
    if by[ALL] < least:
        return "that is hardly a change: no reason here to renew bushes for the depth's sake"
    if not both:
        return ""
    names = {MAIN: "the main pins", DEPTH: "the depth linkage and gauge arm"}
    first, second = sorted((MAIN, DEPTH), key=lambda name: -by[name])
    told = _alone(cost.at[first], scenario), _alone(cost.at[second], scenario)
    if by[second] > 0.5 * by[first]:
        return f"both have a share: {names[first]} alone {told[0]}, {names[second]} alone {told[1]}; {SAFE}"
    return (
        f"renew the bushes of {names[first]} first: their play alone {told[0]}, that of {names[second]} {told[1]}; "
        f"{SAFE}"
    )


def _loss(fitting: At, worn: At, scenario: Scenario) -> float:
    """What the play costs: share of the way, or depth of the slot at its worst [m]; 0 where it cannot be told."""
    lost = fitting.on_depth_share - worn.on_depth_share
    if scenario.limits.on_feature:
        a, b = worn.slot, fitting.slot
        lost = max(a.deepest - b.deepest, b.shallowest - a.shallowest)
    return lost if math.isfinite(lost) else 0.0


def _alone(at: At, scenario: Scenario) -> str:
    return _slot(at) if scenario.limits.on_feature else known(at.on_depth_share)


def wear_document(cost: WearCost, scenario: Scenario) -> dict[str, Any]:
    """The cost as `--json` has it."""
    play, fitting = cost.clearance, cost.fitting
    return {
        "clearance_mm": {
            "main_pins": mm(play.main_pins), "depth_linkage": mm(play.depth_linkage), "gauge_arm": mm(play.gauge_arm),
        },
        "pick_with_pins_that_fit": {"oil_pressure_bar": bar(fitting.oil_pressure), "speed_kmh": kmh(fitting.speed)}
        if isinstance(fitting, Pick)
        else None,
        "at": {
            "oil_pressure_bar": bar(cost.oil_pressure),
            "speed_kmh": kmh(cost.speed),
            **{
                name: {
                    "on_depth_share": finite(at.on_depth_share),
                    "wheel_off_share": finite(at.wheel_off_share),
                    "deepest_mm": finite(mm(at.slot.deepest)),
                    "shallowest_mm": finite(mm(at.slot.shallowest)),
                }
                for name, at in cost.at.items()
            },
        },
        "says": [text for text in wear_words(cost, scenario) if text],
    }  # fmt: skip
