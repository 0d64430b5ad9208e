"""What `rowbench rank` tells a reader: what to know first, bars with intervals, what does not matter, how sure."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from analysis.present.cautions import warned
from analysis.present.sentences import SCREEN, items, joined, numbered, sentence, setting
from analysis.present.texts import number, paragraph, percent, plural, screen_width, short, to_figures
from analysis.rank.crossed import RANKED, Ranked
from analysis.rank.knobs import Knob
from analysis.rank.rank import Ranking
from scenarios.doubt.keys import BY_KEY
from scenarios.format.edge_units import distance_text, unit_text

ROWS = 7  # bars on a screen
LITTLE = 0.01  # share of the variance that is little
BAR = 16  # signs of a bar
NARROW = 70  # columns below which bars stand under their names
NAMED = 4  # names in a list of what does not matter


def rank_text(found: Ranking, title: str, *, details: bool = False) -> str:
    """The screen: one answer first, then bars, groups, other measures, then how sure."""
    lines = [*paragraph(_head(found, title)), *items(*first_sentences(found)), ""]
    lines += bars(found, None if details else ROWS)
    beside = beside_sentences(found)
    lines += [*items(*beside), *items(*sure_sentences(found, details))]
    if details:
        lines += ["", *items(*all_sentences(found)), *warned(found.scenario.warnings)]
    return "\n".join(lines)


def _head(found: Ranking, title: str) -> str:
    s = found.scenario.settings
    how = "as far as its values are in doubt" if found.share is None else f"each value {_within(found.share)}"
    place = setting(s.oil_pressure, s.speed, SCREEN, ", ")
    return f"What moves the {_by(found).words}: {title}, {place}; {how}"


def _within(share: float) -> str:
    return f"±{short(share * 100.0)} %"


def _by(found: Ranking) -> Ranked:
    return RANKED[found.by]


# --- what is known first


def first_sentences(found: Ranking) -> tuple[str, ...]:
    """What to measure, build or set with care; what does not matter."""
    order = found.order
    if not order:
        return (_nothing(found),)
    return tuple(text for text in (_care(found, order), _unsure(found, order), _matters_not(found)) if text)


def _nothing(found: Ranking) -> str:
    mean = _told(found.shares.mean[found.by], _by(found))
    if not found.shares.blocks:
        return f"No set of values could be crossed: {_why_not(found)}. Try a smaller --within, or fewer --keys."
    return f"Nothing that was varied moves the {_by(found).words}: it is {mean} with every set."


def _care(found: Ranking, order: Sequence[int]) -> str:
    lead = leaders(found, order)
    told = [f"{spoken_key(found.varied.knobs[i])} ({effect_words(found, i)})" for i in lead]
    return sentence(f"{_what_to_do(found, lead)}: {joined(told)}")


def leaders(found: Ranking, order: Sequence[int]) -> list[int]:
    """The strongest, and those with at least half its share, three at most."""
    total = found.shares.total.value[:, found.by]
    return [i for i in order if total[i] >= 0.5 * total[order[0]]][:3]


def _what_to_do(found: Ranking, lead: Sequence[int]) -> str:
    if found.share is None:
        tools = [BY_KEY[found.varied.knobs[i].name].measured for i in lead]
        known = list(dict.fromkeys(tool for tool in tools if tool))
        return f"Measure first ({'; '.join(known)})" if known else "Moves it most, and is not easily measured"
    groups = {found.varied.knobs[i].group for i in lead}
    if groups == {"settings"}:
        return "Set with care"
    return "Know and build with care" if groups <= {"unit", "gas", "tyres"} else "Moves it most"


def effect_words(found: Ranking, i: int) -> str:
    """What a value does from the low end of its range to the high end, in words."""
    knob, by = found.varied.knobs[i], _by(found)
    moved = float(found.shares.effect.value[i, found.by]) * by.factor
    ends = f"from {to_figures(knob.low)} to {to_figures(knob.high)}{unit_text(knob.edge)}"
    return f"{ends}: {signed_two(moved)} {by.unit}"


def signed_two(value: float) -> str:
    """A change to two figures with its sign."""
    if value == 0.0 or not math.isfinite(value):
        return "0"
    digits = max(0, 1 - math.floor(math.log10(abs(value))))
    text = number(abs(value), min(digits, 3))
    return f"{'+' if value > 0.0 else '−'}{text}"


def _told(value: float, by: Ranked) -> str:
    if by.unit == "points":
        return percent(value)
    return f"{number(value * by.factor, 1)} {by.unit}"


def _unsure(found: Ranking, order: Sequence[int]) -> str:
    """A word where it is not sure which comes first."""
    total, first, lead = found.shares.total, order[0], leaders(found, order)
    like = [i for i in order[1:] if total.high[i, found.by] > total.low[first, found.by]
            and total.value[i, found.by] > 0.25 * total.value[first, found.by]]  # fmt: skip
    if not like:
        return ""
    more = f"(intervals overlap; --draws {2 * found.shares.asked} tells more)"
    if set(like) <= set(lead):
        return f"Which of the {'two' if len(lead) == 2 else 'three'} comes first is not sure yet {more}."
    names = joined([spoken_key(found.varied.knobs[i]) for i in like[:2]])
    return f"Not sure yet that {spoken_key(found.varied.knobs[first])} comes before {names} {more}."


def _matters_not(found: Ranking) -> str:
    """What does not matter, in one sentence."""
    total = found.shares.total
    little = [found.varied.knobs[i] for i in range(len(found.varied.knobs)) if total.high[i, found.by] < LITTLE]
    said = []
    if little:
        said.append(f"{_count(little)}: each under {percent(LITTLE, 0)}")
    if found.small:
        most = max(float(size[found.by]) for _, size in found.small) * _by(found).factor
        said.append(f"{plural(len(found.small), 'value')} screened out: each at most "
                    f"{signed_two(most).lstrip('+')} {_by(found).unit} from end to end in the mean")  # fmt: skip
    if found.still:
        said.append(f"{_count(found.still)}: move nothing at all here")
    return f"Does not matter: {'; '.join(said)}." if said else ""


def _count(knobs: Sequence[Knob]) -> str:
    names = [spoken_key(knob) for knob in knobs]
    if len(names) <= NAMED:
        return joined(names)
    return f"{len(names)} values ({', '.join(names[: NAMED - 1])} …)"


def spoken_key(knob: Knob) -> str:
    """A value as a reader would look it up: words of what is in doubt, else its key without "unit."."""
    return knob.words if knob.name in BY_KEY and knob.words == BY_KEY[knob.name].words else short_name(knob)


def short_name(knob: Knob) -> str:
    """Its key, the table "unit" left out.

    >>> short_name(Knob("unit.disc.radius_m", "", "unit", "m", 0.28, 0.2, 0.3, ()))
    'disc.radius_m'
    """
    return knob.name.removeprefix("unit.")


# --- bars


def bars(found: Ranking, most: int | None) -> list[str]:
    """A line for each value: name, bar of its total share, share, interval, what it does from end to end."""
    shown = [i for i in found.order if most is None or found.shares.total.high[i, found.by] >= LITTLE][:most]
    if not shown:
        return []
    rows = [_row(found, i, spoken_key(found.varied.knobs[i])) for i in shown]
    return _laid_out([("share of its variance, % (95 %); low → high end", "", "%", "95 %", _by(found).unit), *rows])


def _row(found: Ranking, i: int, name: str) -> tuple[str, str, str, str, str]:
    value, low, high = _ends(found, i, found.by)
    effect = signed_two(float(found.shares.effect.value[i, found.by]) * _by(found).factor)
    return name, bar(low, value, high), f"{value * 100:.0f}", f"{low * 100:.0f}–{high * 100:.0f}", effect


def _ends(found: Ranking, i: int, m: int) -> tuple[float, float, float]:
    """A total share and its interval; a share lies between 0 and 1 whatever the estimate."""
    value, low, high = (min(max(float(part[i, m]), 0.0), 1.0) for part in found.shares.total)
    return value, low, high


def bar(low: float, value: float, high: float) -> str:
    """A bar: full to the low end of the interval, paler to the value, pale to the high end.

    >>> bar(0.25, 0.5, 0.75)
    '████▒▒▒▒░░░░    '
    """
    at = [round(BAR * part) for part in (low, value, high)]
    return ("█" * at[0] + "▒" * (at[1] - at[0]) + "░" * (at[2] - at[1])).ljust(BAR)


def _laid_out(rows: Sequence[tuple[str, str, str, str, str]]) -> list[str]:
    """Rows as lines; on a narrow screen the bar stands under its name."""
    numbers = [max(len(row[c]) for row in rows) for c in (2, 3, 4)]
    tail = [f"{row[2]:>{numbers[0]}}  {row[3]:>{numbers[1]}}  {row[4]:>{numbers[2]}}" for row in rows]
    room = screen_width() - BAR - len(tail[0]) - 5
    lines: list[str] = []
    for row, figures in zip(rows, tail, strict=True):
        if screen_width() < NARROW:
            lines += [*paragraph(row[0], first="  "), f"    {row[1]:<{BAR}}  {figures}".rstrip()]
        elif row[1] or len(row[0]) <= room:
            name = row[0] if len(row[0]) <= room else f"{row[0][: room - 1]}…"
            lines.append(f"  {name:<{room}} {row[1]:<{BAR}}  {figures}".rstrip())
        else:  # the head reaches over the bars
            lines.append(f"  {row[0]:<{room + BAR + 1}}  {figures}".rstrip())
    return lines


# --- beside it, and how sure


def beside_sentences(found: Ranking) -> list[str]:
    """The groups, and what moves the other measures most."""
    said = []
    if found.groups:
        first = len(found.varied.knobs)
        parts = [(name, _ends(found, first + g, found.by)) for g, name in enumerate(found.groups)]
        told = [f"{name} {value * 100:.0f} % ({low * 100:.0f}–{high * 100:.0f})"
                for name, (value, low, high) in sorted(parts, key=lambda part: -part[1][0])]  # fmt: skip
        said.append(f"groups: {', '.join(told)}")
    said.append("; ".join(_leads(found, m, by) for m, by in enumerate(RANKED) if m != found.by))
    return [sentence(text) for text in said]


def _leads(found: Ranking, m: int, by: Ranked) -> str:
    total = found.shares.total.value[: len(found.varied.knobs), m]
    lead = int(np.nanargmax(total)) if len(total) and np.isfinite(total).any() else -1
    if lead < 0 or total[lead] <= LITTLE:
        return f"nothing moves the {by.words}"
    told = f"{spoken_key(found.varied.knobs[lead])} ({percent(min(float(total[lead]), 1.0), 0)})"
    return f"{by.words}: {told}"


def all_sentences(found: Ranking) -> list[str]:
    """Everything that was not ranked, and why; what moves together."""
    by = _by(found)
    said = [f"{knob.name}: screened out, {signed_two(float(size[found.by]) * by.factor)} {by.unit} in the mean from "
            "end to end" for knob, size in found.small]  # fmt: skip
    said += [f"moves nothing here: {', '.join(knob.name for knob in found.still)}"] if found.still else []
    said += [f"{left.name}: not varied ({left.why})" for left in found.left]
    said += [f"{knob.name} moves {' and '.join(knob.members)} together" for knob in found.varied.knobs if knob.members]
    return [sentence(text) for text in said]


def sure_sentences(found: Ranking, details: bool) -> list[str]:
    """From what it is, on which grounds, what could not be crossed."""
    sure, s = found.shares, found.scenario
    said = []
    if found.stopped is not None:
        said.append(f"stopped after {found.stopped[0]} of {found.stopped[1]} first points: this is of those alone")
    said.append(
        f"{found.asked} sets of values on {_ground(found)}. Shares "
        "count what a value does with others too, and may pass 100 % together; "
        f"--draws {2 * sure.asked} narrows them by a third"
    )
    if found.tally.total:
        said.append(f"{found.tally.total} of the sets could not be crossed and are left out: {_why_not(found)}")
    if sure.blocks < sure.asked and found.stopped is None:
        said.append(f"{sure.blocks} of {sure.asked} first points counted")
    if len(found.left) > 1 and not details:
        said.append(f"{plural(len(found.left), 'value')} not varied ({_left(found)}); --details names them")
    if found.share is None and s.uncertain is not None and s.uncertain.keys:
        said.append("values that were fitted together are varied one by one here, as if they did not go together")
    return [sentence(text) for text in said]


def _ground(found: Ranking) -> str:
    """Which ground, and what another one would say."""
    length = distance_text(found.scenario.length)
    if len(found.seeds) < len(found.scenario.search_seeds):
        return f"the file's ground of {length}, on which nothing is random; another ground may rank otherwise"
    return (
        f"{numbered('ground', found.seeds)} of {length}, the same for all: what differs is of the values; another "
        f"ground may rank otherwise (--seed {found.seeds[-1] + 1})"
    )


def _why_not(found: Ranking) -> str:
    return "; ".join(f"{count} {why}" for why, count in found.tally.reasons.most_common(3))


def _left(found: Ranking) -> str:
    """The first two reasons, each with a value that it holds for."""
    reasons = {left.why: left.name.removeprefix("unit.") for left in reversed(found.left)}
    return "; ".join(f"{name}: {why}" for why, name in list(reversed(reasons.items()))[:2])
