"""The printable list of `rowbench level` and the sentences around it, all from the numbers."""

from __future__ import annotations

import math
from collections.abc import Iterable

from analysis.levelling.advice import DIG, LEAST_DIGS, LEAST_FREEDOM, TURN, Levelling, RowAdvice
from analysis.levelling.digs import ANY
from analysis.levelling.spread import CONFIDENCE, MOST_DIGS, POWER
from analysis.levelling.tracks import CHANCE, Tracks
from analysis.levelling.turns import QUARTER, Turnbuckle
from analysis.present.cautions import TURNBUCKLE_NOTE, closing, warned
from analysis.present.edge import mm
from analysis.present.sentences import by_mm, capital, joined
from analysis.present.texts import labelled, number, paragraph, percent, plural, signed, table

AGAIN = 0.95  # share arriving below which a second round is announced
NOTHING = 0.05  # share arriving below which turning is said to do nothing


def level_text(found: Levelling, unit: str, warnings: Iterable[str] = ()) -> str:
    """The whole output: heading, turnbuckle, spread, tracks, list in row order, what to do, notes, cautions.

    unit: how the unit is named, as "Rough field (rough)".
    """
    lines = paragraph(heading(found), indent=2)
    lines += [*paragraph(f"unit: {unit}, at its depth setting of {mm(found.turnbuckle.set_depth):g} mm", indent=2), ""]
    lines += labelled("Turnbuckle", turnbuckle_sentence(found.turnbuckle))
    lines += labelled("Spread", spread_sentence(found))
    lines += labelled("Wheel tracks", tracks_sentence(found.tracks))
    lines += ["", *row_list(found), ""]
    lines += labelled("To do", to_do_sentence(found))
    for note in notes(found):
        lines += labelled("Note", note)
    return "\n".join([*lines, *warned(warnings), *closing(TURNBUCKLE_NOTE)])


def heading(found: Levelling) -> str:
    """What is levelled, and to what."""
    target = f"{number(mm(found.offsets.target))} mm"
    names = {"wanted": "the wanted", "machine_mean": "the mean of its rows,"}
    to = f"{names.get(found.target, 'the mean of its rows outside wheel tracks,')} {target}"
    digs = plural(int(sum(found.digs.counts)), "dig")
    if found.digs.at != ANY:
        digs += f" at {found.digs.at.told}"
    return f"Machine of {plural(len(found.rows), 'row')} levelled to {to} ({found.digs.path.name}, {digs})"


def turnbuckle_sentence(buckle: Turnbuckle) -> str:
    """What a turn does, which way, and how much of it arrives in soil."""
    turn = f"one turn is {mm(buckle.pitch):g} mm; a turn longer sets a row {by_mm(buckle.depth_per_turn)}"
    ratio = f"{signed(buckle.depth_per_length, 2)} mm of depth for each mm, wheel against disc, by the unit's linkage"
    if buckle.arrives < NOTHING:
        soil = (
            "At this pressure and soil the gauge wheel carries nothing, so that turning changes nothing: set the oil "
            "pressure first"
        )
    elif buckle.arrives < AGAIN:
        left = percent(1.0 - buckle.arrives, 0)
        soil = (
            f"On the soil of this file {percent(buckle.arrives, 0)} of that arrives, for a wheel with more load sinks "
            f"more: some {left} of an offset is left after the first round, so dig again and turn again"
        )
    else:
        soil = f"On the soil of this file {percent(buckle.arrives, 0)} of that arrives"
    return f"{turn} ({ratio}). {soil}."


def spread_sentence(found: Levelling) -> str:
    """The spread within rows, and how many digs it asks for."""
    matters = f"{mm(found.difference):g} mm"
    said = f"{number(mm(found.spread.sd))} mm within a row ({found.spread.freedom} degrees of freedom). "
    if found.spread.freedom < LEAST_FREEDOM:
        return f"{said}That is too few to know it: {LEAST_FREEDOM} degrees of freedom are asked for, digs less rows."
    if found.to_place >= MOST_DIGS:
        return f"{said}No number of digs up to {MOST_DIGS} places a row within ±{matters}."
    said += f"At that spread {found.to_place} digs in each row place it within ±{matters} ({percent(CONFIDENCE, 0)})"
    if found.to_tell >= MOST_DIGS:
        return f"{said}."
    shown = f"show a row {matters} off its target in {POWER * 100:.0f} of 100 cases"
    return f"{said}, and {found.to_tell} digs {shown}."


def tracks_sentence(tracks: Tracks | None) -> str:
    """Whether the rows behind wheel tracks differ as a group."""
    if tracks is None:
        return "not looked for: it takes every row from the first to the last, six at least. Name them with --tracks."
    tried = f"{plural(tracks.tried, 'pair')} of mirrored tracks tried, one or two rows wide"
    if not tracks.rows:
        return f"none stands out ({tried})."
    rows = _rows(tracks.rows)
    way = "deeper" if tracks.difference > 0.0 else "shallower"
    off = f"{number(abs(mm(tracks.difference)))} ± {number(mm(tracks.half))} mm {way} than the others"
    if math.isnan(tracks.p):
        return f"{rows} as a group lie {off}; too few rows to tell whether that is more than rows differ anyway."
    p = f"p = {tracks.p:.2g}" if tracks.p >= 1e-4 else "p < 0.0001"
    after = "" if tracks.given else f" after {tried}"
    if not tracks.found:
        if not tracks.given:
            return f"none stands out: the likeliest, {rows}, {off}, is no more than rows differ anyway ({p}{after})."
        return f"{rows} as a group lie {off}, no more than rows differ anyway ({p}, {CHANCE:g} asked for)."
    return (
        f"{rows} as a group lie {off}, more than rows differ anyway ({p}{after}). That part goes with the tracks: see "
        "to them first (tyre pressure, loosening behind the wheels); the turns below hold while they stay as they are."
    )


def _rows(rows: Iterable[int]) -> str:
    """Numbers of rows in words."""
    names = [str(row) for row in rows]
    return f"row{'' if len(names) == 1 else 's'} {joined(names)}"


def row_list(found: Levelling) -> list[str]:
    """The list in row order, to take to the machine."""
    level = f"{CONFIDENCE * 100:.0f} %"
    head = ("row", "digs", "depth", "off mm", f"{level}, mm", "turn", f"{level}, turns")
    lines = table(head, (_cells(row) for row in found.rows), indent=0)
    if any(row.track for row in found.rows):
        lines.append("t: behind a wheel track")
    return lines


def _cells(row: RowAdvice) -> tuple[str, ...]:
    name = f"{row.row}{' t' if row.track else ''}"
    span = f"{signed(mm(row.low))}…{signed(mm(row.high))}"
    start = (name, str(row.digs), number(mm(row.mean)), signed(mm(row.offset)), span)
    if row.advice == DIG:
        return (*start, f"dig {row.more} more", "")
    told = f"{turns_text(row.quarter_turns)} {_way(row.quarter_turns)}" if row.advice == TURN else "leave"
    return (*start, told, span_text(*row.stated))


def _way(turns: float) -> str:
    return "longer" if turns > 0.0 else "shorter"


def turns_text(quarter_turns: float) -> str:
    """Turns in quarters, without sign.

    >>> turns_text(1.25), turns_text(-0.5), turns_text(3.0), turns_text(0.0)
    ('1¼', '½', '3', '0')
    """
    whole, part = divmod(round(abs(quarter_turns) / QUARTER), 4)
    fraction = ("", "¼", "½", "¾")[part]
    return f"{whole}{fraction}" if whole or not fraction else fraction


def span_text(low: float, high: float) -> str:
    """An interval of turns in quarters.

    >>> span_text(0.5, 1.25), span_text(-0.5, 0.25), span_text(-1.0, -0.25), span_text(0.0, 0.5)
    ('½ … 1¼ longer', '½ shorter … ¼ longer', '¼ … 1 shorter', '0 … ½ longer')
    """
    if low >= 0.0:
        return f"{turns_text(low)} … {turns_text(high)} longer"
    if high <= 0.0:
        return f"{turns_text(high)} … {turns_text(low)} shorter"
    return f"{turns_text(low)} shorter … {turns_text(high)} longer"


def to_do_sentence(found: Levelling) -> str:
    """How many rows to turn, leave and dig again, and which way."""
    deeper = found.turnbuckle.longer_is_deeper
    turned = [row for row in found.rows if row.advice == TURN]
    dug = [row for row in found.rows if row.advice == DIG]
    said = []
    for longer, way in ((True, "longer"), (False, "shorter")):
        rows = [row.row for row in turned if (row.quarter_turns > 0.0) == longer]
        if rows:
            them = "it" if len(rows) == 1 else "them"
            said.append(f"{_rows(rows)} {way} (sets {them} {'deeper' if longer == deeper else 'shallower'})")
    text = f"turn {'; turn '.join(said)}" if said else "turn none"
    left = len(found.rows) - len(turned) - len(dug)
    if left:
        text += f". {plural(left, 'row')} to leave: {'its' if left == 1 else 'their'} interval holds the target"
        text += " or the turn would be under an eighth"
    if dug:
        most = max(row.more for row in dug)
        few = f"{_rows(row.row for row in dug)} got no advice: fewer than {found.needed} digs"
        text += f". {capital(few)} (up to {most} more a row)"
    return f"{text}."


def notes(found: Levelling) -> list[str]:
    """What in the digs asks for a second look."""
    said = []
    if found.digs.undug:
        said.append(f"not dug: {_rows(found.digs.undug)}.")
    if found.stray is not None:
        said.append(
            f"a dig of {number(mm(found.stray.value))} mm in row {found.stray.row} lies far from its row's mean "
            f"(p = {found.stray.p:.2g} over all digs): a slip of the pen? It was counted."
        )
    if found.unequal is not None:
        said.append(
            f"rows differ in spread (p = {found.unequal.p:.2g}), row {found.unequal.row} most, with "
            f"{number(mm(found.unequal.value))} mm: the intervals, made with one spread for all, are too narrow for it."
        )
    if found.spread.sd == 0.0:
        said.append("all digs of each row are the same: were they measured or copied?")
    if found.digs.left_out:
        said.append(f"{plural(found.digs.left_out, 'dig')} made otherwise left out.")
    if found.digs.ignored:
        said.append(f"columns not used: {', '.join(found.digs.ignored)}.")
    if found.needed == LEAST_DIGS and any(row.advice == DIG for row in found.rows):
        said.append(f"a row needs {LEAST_DIGS} digs in any case.")
    return said
