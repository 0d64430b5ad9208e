"""What `rowbench pressures` tells a reader, every sentence from the numbers of a chart."""

from __future__ import annotations

from collections.abc import Iterable

from analysis.present.cautions import LOADS_NOTE, PRESSURE_NOTE, VESSEL_NOTE, warned
from analysis.present.edge import bar, kgf, mm
from analysis.present.sentences import capital, items
from analysis.present.texts import labelled, number, paragraph, percent, short, table
from analysis.setting_up.precharge import FIRST_PASS, SMOOTHING, STATUS, Precharge, Size
from analysis.setting_up.pressure_chart import RANGE, Chart, End, Line, State
from sim.hydraulics.gas_rule import COLD, HOT, SHARE, SQUEEZE
from sim.unit import ATMOSPHERE, KELVIN

NAMES = {"cold": "cold morning", "hot": "hot afternoon"}
METHOD_NOTE = (
    "Slow: the gas keeps its temperature. Fast: no heat passes. A unit at work lies between. Top and bottom are the "
    "arm's travel stops. Seal friction, throttled oil and the oil's own expansion in the heat are left out."
)


def pressures_text(
    found: Chart, advice: Precharge, sizes: tuple[Size, ...], title: str, warnings: Iterable[str] = ()
) -> str:
    """The pressure chart with its precharge advice and accumulator sizes."""
    lines = paragraph(_title(found, title))
    for state in found.states:
        lines += ["", *_table(found, state)]
    lines += ["", *_notes_of_tables(found), "", *_cushion(found), *_heat(found), *_highest(found, advice)]
    lines += ["", *_precharge(advice), "", *_size_lines(found, sizes), *warned(warnings), "", "Cautions"]
    cautions = (METHOD_NOTE, *_beyond_law(found), *_shared(found), VESSEL_NOTE, PRESSURE_NOTE, LOADS_NOTE)
    return "\n".join([*lines, *items(*cautions)])


def _title(found: Chart, title: str) -> str:
    s = found.settings
    return (
        f"Pressure chart: {title}. Precharge {short(bar(s.precharge))} bar at "
        f"{celsius(s.precharge_temperature)}, accumulator {short(found.unit.accumulator.volume * 1e3)} l"
    )


def celsius(kelvin: float) -> str:
    """A temperature [K] in words: "20 °C", "−5 °C"."""
    return f"{short(round(kelvin - KELVIN, 6))} °C".replace("-", "−")


def state_name(state: State) -> str:
    """The state in words, with its temperature."""
    return f"{NAMES[state.name]}, {celsius(state.temperature)}"


def _table(found: Chart, state: State) -> list[str]:
    down, up = found.travel
    rows = [_row(line, allowed) for line, allowed in zip(state.lines, found.allowed, strict=True)]
    head = ("oil", "kgf: mid", "bottom", "top", "N/mm: slow", "fast", "gas: bottom", "mid", "top")
    over = f"{capital(state_name(state))}: downforce in kgf a row, spring rate at the disc, gas in % of the accumulator"
    ends = f"oil in bar; mid: disc at its nominal place, bottom: {mm(-down):.0f} mm under, top: {mm(up):.0f} mm over it"
    return [*paragraph(f"{over} ({ends})"), *table(head, rows, indent=0)]


def _row(line: Line, allowed: bool) -> tuple[str, ...]:
    mark = "" if allowed else " *"
    return (
        f"{short(bar(line.oil_pressure))}{mark}",
        number(kgf(line.downforce), 0),
        _end(line.bottom),
        _end(line.top),
        *(
            (number(rate / 1e3) for rate in (line.spring_slow, line.spring_fast))
            if line.cushion
            else ("stiff", "stiff")
        ),
        *(_share(share) for share in (line.bottom.share, line.share, line.top.share)),
    )


def _end(end: End) -> str:
    """Downforce after a slow move to a stop; "none" where the gas has come to its end and the pressure is gone."""
    if end.downforce is None:
        return "–"
    return "none" if end.share > 1.0 and end.downforce <= 0.0 else number(kgf(end.downforce), 0)


def _share(share: float) -> str:
    return "full" if share > 1.0 else number(100.0 * share, 0)


def _notes_of_tables(found: Chart) -> list[str]:
    """What the marks in the tables mean, as far as they are there."""
    lines = [line for state in found.states for line in state.lines]
    notes = ["Downforce at bottom and top: after a slow move, with the oil trapped."]
    if any(line.bottom.share > 1.0 for line in lines):
        notes.append("Full: the gas has come to its end, the cushion is lost.")
    if any(line.top.downforce is None or line.bottom.downforce is None for line in lines):
        notes.append("–: the gas would be pressed beyond its law.")
    if not all(found.allowed) and found.max_oil_pressure is not None:
        notes.append(f"*: over the {short(bar(found.max_oil_pressure))} bar that the file allows.")
    return paragraph(" ".join(notes))


def _cushion(found: Chart) -> list[str]:
    parts = []
    for state in found.states:
        at = celsius(state.temperature)
        text = f"lost below {number(bar(state.full_pressure))} bar at {at} (the precharge there)"
        if state.bottom_pressure is None:
            text += "; the accumulator is too small to hold it down to the lower stop at any pressure"
        else:
            text += f", and kept down to the lower stop from {number(bar(state.bottom_pressure))} bar on"
        parts.append(text)
    lines = labelled("Cushion", "; ".join(parts) + ".")
    for state, line in zip(found.states, found.own, strict=True):
        lines += labelled("", _own_cushion(state, line))
    return lines


def _own_cushion(state: State, line: Line) -> str:
    """Whether the file's own pressure keeps its cushion, and what the downforce does over the travel."""
    set_to = f"{short(bar(line.oil_pressure))} bar at {celsius(state.temperature)}"
    if not line.cushion:
        return f"{set_to}: no cushion at all, {number(bar(state.full_pressure - line.oil_pressure))} bar too low."
    if line.lost_at is not None:
        return f"{set_to}: the cushion is lost once the disc is {mm(-line.lost_at):.0f} mm under its nominal place."
    slow, fast = line.evenness(False), line.evenness(True)
    if slow is None or fast is None:
        return f"{set_to}: the cushion lasts to the lower stop, but the upper one presses the gas beyond its law."
    return (
        f"{set_to}: the cushion lasts over the whole travel; downforce changes by {percent(slow, 0)} of its nominal "
        f"value (slow) to {percent(fast, 0)} (fast) from end to end."
    )


def _heat(found: Chart) -> list[str]:
    cold, hot = found.states
    line = found.own[0]
    change = found.warmed - line.oil_pressure
    force = line.downforce * found.warmed / line.oil_pressure
    return labelled(
        "Warming",
        f"{short(bar(line.oil_pressure))} bar set at {celsius(cold.temperature)} with the oil trapped reads "
        f"{number(bar(found.warmed))} bar at {celsius(hot.temperature)}: {number(kgf(force), 0)} in place of "
        f"{number(kgf(line.downforce), 0)} kgf a row. {'Set it again.' if abs(change) >= 1e5 else ''}".rstrip(),
    )


def _highest(found: Chart, advice: Precharge) -> list[str]:
    parts = []
    if found.max_oil_pressure is None:
        parts.append("the file names none (limits.max_oil_pressure_bar): ask for the pressure on the plates.")
    else:
        own = found.own[0].oil_pressure
        over = own > found.max_oil_pressure * (1.0 + 1e-12)
        parts.append(
            f"{short(bar(found.max_oil_pressure))} bar by the file; its own {short(bar(own))} bar "
            f"{'is over that' if over else 'keeps to it'}, and no pick goes above."
        )
    if advice.warned_oil is not None:
        parts.append(
            f"From {number(bar(advice.warned_oil))} bar on a fast move to the upper stop passes "
            f"{short(bar(advice.warning))} bar, at which a run warns."
        )
    return labelled("Highest pressure", " ".join(parts))


_VERDICTS = {
    "within": "lies within them",
    "high": "is above them: the gas comes to its end too early in a hollow",
    "low": "is below them: the gas is pressed too far on a hump",
    "no way": "cannot meet them: at this accumulator and pressure they leave nothing between",
}


def _precharge(a: Precharge) -> list[str]:
    between = f"at most {_bars(a.most)} (precharge ≤ {a.rule.share:g} of the lowest pressure over the travel, hot)"
    between += f", at least {_bars(a.least)} (highest pressure ≤ {a.rule.squeeze:g} × precharge, cold)"
    given = f"The file's {_bars(a.given)} {_VERDICTS[a.verdict]}."
    lines = labelled("Precharge", f"at {short(bar(a.oil_pressure))} bar oil: {between}. {given}")
    first = min(FIRST_PASS, a.rule.share)
    other = (
        f"First pass {_bars(a.first_pass)} ({first:g} of the lowest pressure); to smooth knocks {_bars(a.smoothing)} "
        f"({SMOOTHING:g} of the set pressure)."
    )
    if a.lowest_oil is not None and a.highest_oil is not None and a.lowest_oil < a.highest_oil:
        other += (
            f" By the same rules {_bars(a.given)} suits {_bars(a.lowest_oil, '')} to {_bars(a.highest_oil)} of oil."
        )
    else:
        other += f" By the same rules {_bars(a.given)} suits no oil pressure over this travel."
    limits = (
        f"Limits of the file: precharge_share_max = {a.rule.share:g}, gas_squeeze_max = {a.rule.squeeze:g}; no search "
        f"picks outside them (gas at {celsius(COLD)} and {celsius(HOT)}). The defaults ({SHARE:g}; {SQUEEZE:g} for a "
        f"bladder, from memory) and the rest: {STATUS}."
    )
    return lines + labelled("", other) + labelled("", limits)


def _bars(pressure: float | None, unit: str = " bar") -> str:
    """A pressure in bar, or that there is none."""
    return "no pressure" if pressure is None else f"{number(bar(pressure))}{unit}"


def _size_lines(found: Chart, sizes: tuple[Size, ...]) -> list[str]:
    down, up = sizes[0].travel
    over = f"from {mm(-down):.0f} mm under to {mm(up):.0f} mm over the disc's nominal place"
    head = (f"Accumulator for a change of at most {percent(sizes[0].wanted, 0)}", "change now", "volume, l")
    rows = []
    by_name = {state.name: state for state in found.states}
    for size in sizes:
        now = "–" if size.given is None else percent(size.given, 0)
        volume = "none" if size.volume is None else number(size.volume * 1e3, 2)
        rows.append((f"{state_name(by_name[size.state])}, {'fast' if size.fast else 'slow'}", now, volume))
    lines = table(head, rows, indent=0)
    own = found.settings
    text = f"Downforce at {short(bar(own.oil_pressure))} bar and the file's precharge, {over}."
    short_of = [size for size in sizes if size.volume is None]
    if short_of and all(size.lever > size.wanted for size in short_of):
        text += (
            f" None: however large, the lever of the cylinder alone leaves {percent(short_of[0].lever, 0)}; shorten "
            "the travel (--travel) or ask for less (--evenness)."
        )
    elif short_of:
        text += (
            " None: however large, at this precharge the gas comes to its end over this travel, or too near it; "
            f"{percent(min(size.least for size in short_of), 0)} is the least. Lower the precharge or raise the oil "
            "pressure."
        )
    return lines + paragraph(text)


def _beyond_law(found: Chart) -> list[str]:
    """Where the gas law is known less well."""
    if found.settings.gas != "real":
        return ["The file asks for an ideal gas: a fast move then feels too soft (8 % at 60 bar, computed)."]
    lines = [line for state in found.states for line in state.lines]
    highest = max((p for line in lines if (p := line.highest) is not None), default=0.0) + ATMOSPHERE
    if highest <= RANGE[1]:
        return []
    return [
        f"At the upper stop the gas passes {short(bar(RANGE[1]))} bar, up to which its law is known to 2 %: what is "
        "shown there is less sure."
    ]


def _shared(found: Chart) -> list[str]:
    units = found.unit.accumulator.shared_by
    if units == 1:
        return []
    return [
        f"The accumulator is shared by {units} units: here one moves and the others stand still, an approximation. "
        f"Where all move together each has {short(found.unit.accumulator.volume / units * 1e3)} l."
    ]
