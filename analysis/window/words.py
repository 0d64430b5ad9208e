"""Screen of `rowbench window`, short: what to set, what stops faster, how sure, what changes what one would do.

All the rest stands behind `--details` (`analysis.window.told.detail_words`).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from analysis.crossing.loads import PinLoad
from analysis.present.cautions import PRESSURE_SHORT
from analysis.present.edge import bar, kmh, mm
from analysis.present.scenario_words import scenario_title
from analysis.present.sentences import SCREEN, items, loaded, numbered, sentence, setting
from analysis.present.texts import labelled, number, paragraph, percent, pin_lines, plural, short, signed, table
from analysis.window.advice import Advice
from analysis.window.doubt.words import (
    assumed_words,
    cost_words,
    faster_words,
    fitted_words,
    measure_words,
    nothing_words,
    set_words,
)
from analysis.window.feature.feature_words import changed_words, judged_short
from analysis.window.gain import Gain, Use
from analysis.window.grid import Window
from analysis.window.help_words import helps
from analysis.window.limits import sown_text
from analysis.window.pick import Nearest, Pick
from analysis.window.pins_at import PinsAt
from analysis.window.sentences import (
    LEAST,
    NOTHING,
    depth_words,
    failing_text,
    precharge_edge,
    pressure_edge,
    speed_edge,
    unchecked_notes,
    warning_notes,
    weight_warning,
)
from analysis.window.sure.words import first_lines
from analysis.window.why_words import faster
from scenarios.scenario import Scenario
from sim.unit import KELVIN

HELPS = 2  # sentences on what would help
MORE = "All the rest: --details."


def window_text(advice: Advice, scenario: Scenario, worn: Sequence[str] = (), renewing: bool = False) -> str:
    """The short screen, from the numbers of a window and of what was found around it.

    worn: what play in the pins costs; renewing: whether pins that fit would have a pick where there is none.
    """
    if isinstance(advice.outcome, Pick):
        lines = [first_text(advice, scenario), *worn_lines(worn), "", "How sure", *_sure_short(advice)]
    else:
        lines = [*_head_lines(advice, scenario), *nothing_lines(advice, HELPS, worn, renewing)]
        lines += warning_lines(advice, scenario)
    lines += [*items(*map(sentence, unchecked_notes(advice.window.limits)), first="", indent=2)]
    return "\n".join([*lines, *paragraph(f"{PRESSURE_SHORT} {MORE}", indent=2)])


def first_text(advice: Advice, scenario: Scenario) -> str:
    """The screen of a pick down to how sure it is: the same before that is known."""
    found = advice.outcome
    assert isinstance(found, Pick)
    lines = [*_head_lines(advice, scenario), "What to set", *set_lines(advice, scenario)]
    lines += _faster_lines(advice, found)
    lines += _in_place_of(advice.gain) if advice.gain else []
    return "\n".join([*lines, *warning_lines(advice, scenario)])


def _head_lines(advice: Advice, scenario: Scenario) -> list[str]:
    return [*title_lines(advice.window, scenario), *paragraph(judged_short(scenario), indent=2), ""]


def worn_lines(worn: Sequence[str]) -> list[str]:
    """What play in the pins costs."""
    said = said_lines(*(text for text in worn if text))
    return ["", "What the wear costs", *said] if said else []


def _faster_lines(advice: Advice, found: Pick) -> list[str]:
    """What stops going faster, and where values are in doubt after measuring what that costs."""
    doubt, last = advice.doubt, found.j + 1 == advice.window.speeds.size
    if doubt is None or not doubt.decides:
        return [] if last else labelled("  not faster", faster(advice.window, found))
    slower = [] if last else labelled("  not faster", faster_words(doubt, advice.window, found))
    return doubt_lines(advice, found) + slower


def doubt_lines(advice: Advice, found: Pick) -> list[str]:
    """The chance of a pick that was found by it, and what the doubt costs; none of another."""
    doubt = advice.doubt
    if doubt is None or not doubt.decides:
        return []
    cost = cost_words(doubt)
    return labelled("  chance", set_words(doubt, found)) + (labelled("  doubt costs", cost) if cost else [])


def nothing_lines(
    advice: Advice, most: int | None = None, worn: Sequence[str] = (), renewing: bool = False
) -> list[str]:
    """Where no setting tried is to be set: that first, then what would help (at most so many sentences), then the one
    that fails least. worn, renewing: as `window_text`; where new bushes help, no setting is told to.
    """
    found = advice.outcome
    assert isinstance(found, Nearest)
    where = f"{loaded(found.oil_pressure, found.downforce)}, {short(kmh(found.speed))} km/h"
    least = ["", f"{LEAST[:1].upper()}{LEAST[1:]}", *said_lines(f"{where}, {depth_words(found.set_depth)}")]
    if advice.doubt is not None and found.confidence is not None:
        known = advice.doubt.known
        could = [measure_words(advice.robustness), *(helps(advice.window, known) if isinstance(known, Nearest) else ())]
        could = [text for text in could if text][:most] or ["nothing that this search shows"]
        return [NOTHING, *said_lines(nothing_words(advice.doubt)),
                "", "What would help", *items(*map(sentence, could)), *least]  # fmt: skip
    why = "can be chosen" if found.hindrance else "meets every limit"
    even = f"the one that fails least{':' if found.hindrance else ' has'} {failing_text(found)}"
    said = helps(advice.window, found)[:most] or ("nothing that this search shows",)
    could = [] if renewing else ["", "What would help", *items(*map(sentence, said))]
    return [
        *(NOTHING, *said_lines(f"none of those tried {why}, so none is to be set; {even}")),
        *(*worn_lines(worn), *could, *least),
    ]


def pins_text(window: Window, outcome: Pick | Nearest, pins: Mapping[str, PinLoad]) -> str:
    """Tables of pin loads: highest load on any pin over the grid, and every pin at the setting found."""
    head = ["Highest pin load, kN", *(f"{kmh(v):.4g} km/h" for v in window.speeds)]
    grid = window.over_seeds("pin_peak") / 1e3
    rows = [
        [f"{bar(p):.4g} bar", *(number(v, 1) if math.isfinite(v) else "–" for v in row)]
        for p, row in zip(window.pressures[::-1], grid[::-1], strict=True)
    ]
    where = setting(outcome.oil_pressure, outcome.speed, SCREEN, ", ")
    what = "the pick" if isinstance(outcome, Pick) else LEAST
    each = {name: (p.peak, p.rms, p.mean) for name, p in pins.items()}
    lines = [*table(head, rows, indent=0), "", *paragraph(f"At {where}, {what}; highest of the grounds:")]
    lines += pin_lines("Pin, kN", each)
    if isinstance(pins, PinsAt) and pins.problem:
        lines += ["", *paragraph(sentence(f"no pin loads at this setting: {pins.problem}"))]
    return "\n".join(lines)


def title_lines(window: Window, scenario: Scenario) -> list[str]:
    """What was searched on which ground."""
    ground = f"{short(scenario.length)} m, {numbered('ground', window.seeds)}"
    tried = f"{plural(window.pressures.size, 'pressure')} × {plural(window.speeds.size, 'speed')}"
    return paragraph(f"{scenario_title(scenario)} ({scenario.name}): {ground}, {tried}", indent=2)


def set_lines(advice: Advice, scenario: Scenario) -> list[str]:
    """What to set, a line for each thing."""
    s, found, limits = scenario.settings, advice.outcome, scenario.limits
    other = advice.gain is not None and advice.gain.present.set_depth != found.set_depth
    change = mm(found.setting_change)
    way = "deeper" if change > 0 else "shallower"
    made = f"the setting made{f' for {short(mm(found.set_depth))} mm' if other else ''} at "
    made = f"{made}{setting(s.reference_pressure, s.reference_speed, SCREEN, ' and ')}"
    depth = f"{signed(change)} mm ({way}) against {made}" if abs(change) >= 0.05 else f"as it is: {made}"
    warm = f"{s.precharge_temperature - KELVIN:.0f} °C"
    precharge = f"precharge {short(bar(s.precharge))} bar at {warm}{_bracketed(precharge_edge(found))}"
    stated = limits.set_depth_min is not None or limits.set_depth_max is not None
    allowed = f"{sown_text(limits)} may be sown" if stated else ""
    pressure, speed = loaded(found.oil_pressure, found.downforce), f"{short(kmh(found.speed))} km/h"
    return [
        *labelled("  set depth", f"{short(mm(found.set_depth))} mm{_bracketed(allowed)}"),
        *labelled("  oil pressure", f"{pressure}{_bracketed(pressure_edge(found))}"),
        *labelled("  nitrogen", precharge),
        *labelled("  depth setting", depth),
        *labelled("  speed", f"{speed}{_bracketed(speed_edge(found))}"),
    ]


def _bracketed(text: str) -> str:
    return f" ({text})" if text else ""


def heed_lines(found: Pick | Nearest) -> list[str]:
    """What to heed at the setting found."""
    return said_lines(*(f"warning: {text}" for text in warning_notes(found)))


def warning_lines(advice: Advice, scenario: Scenario) -> list[str]:
    """What changes what one would do: warnings of the setting, the weight, and what the file itself is warned of."""
    weight = weight_warning(advice.weight) if isinstance(advice.outcome, Pick) else ""
    said = [f"warning: {weight}"] if weight else []
    return heed_lines(advice.outcome) + said_lines(*said, *scenario.warnings)


def _in_place_of(gain: Gain) -> list[str]:
    """The file's present setting and what changes from it to the pick, in a line."""
    pick, present = gain.pick, gain.present
    if (pick.oil_pressure, pick.speed) == (present.oil_pressure, present.speed) and not present.elsewhere:
        return labelled("  in place of", "the same pressure and speed now")
    if present.on_depth_share is None or pick.on_depth_share is None:
        return labelled("  in place of", f"{use_words(present, pick)} (not crossed: {present.reason})")
    on_depth = f"on depth {_from_to(percent(present.on_depth_share), percent(pick.on_depth_share))}"
    if pick.at is not None and present.at is not None:
        on_depth = changed_words(pick.at, present.at)
    area = _from_to(number(present.hectares_per_hour, 2), number(pick.hectares_per_hour, 2))
    return labelled("  in place of", f"{use_words(present, pick)}: {on_depth}, {area} ha/h")


def use_words(use: Use, other: Use) -> str:
    """A setting that is used, in words; set depth and precharge where they are not those of another."""
    said = [setting(use.oil_pressure, use.speed, SCREEN, ", ")]
    said += [depth_words(use.set_depth)] if use.set_depth != other.set_depth else []
    said += [f"precharge {short(bar(use.precharge))} bar"] if use.precharge != other.precharge else []
    return ", ".join(said)


def gain_heading(gain: Gain) -> str:
    """What stands over pick and present setting side by side."""
    if not gain.better:
        return "Beside the present setting"
    return "What it buys and costs" if gain.worse else "What it buys"


def _from_to(before: str, after: str) -> str:
    return before if before == after else f"{before} → {after}"


def _sure_short(advice: Advice) -> list[str]:
    """Room at the pick, what its values rest on, and what moves it most."""
    if advice.robustness is None:
        return ["  not looked at"]
    said, moving = first_lines(advice.robustness, rests_on(advice))
    return items(*said) + items(*moving, first="    ", indent=6)


def rests_on(advice: Advice) -> list[str]:
    """What a pick rests on where its chance was looked at: values left in doubt by readings, or assumed ones."""
    doubt = advice.doubt
    if doubt is None or advice.robustness is None:
        return []
    if doubt.decides:
        return [fitted_words(doubt)]
    return [assumed_words(doubt, advice.robustness.assumed)]


def said_lines(*texts: str) -> list[str]:
    """Lines of texts as sentences, one under the other."""
    return items(*map(sentence, texts))
