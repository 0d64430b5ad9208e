"""Screen of `rowbench compare`: which is better at what, by how much, and whether that is more than chance."""

from __future__ import annotations

import math
from collections.abc import Sequence

from analysis.compare.compare import At, Comparison
from analysis.compare.designs import differing, same
from analysis.compare.measured import Measured
from analysis.compare.note_words import ground_note, notes_below
from analysis.compare.paired import FEW
from analysis.compare.sentences import (
    area_as_set,
    common_setting,
    ground_by_ground,
    held_back,
    mean,
    out_of_place,
    ranking,
    sorted_out,
    speed_sentence,
    verdict,
    with_half,
)
from analysis.present.cautions import PIN_NOTE, closing
from analysis.present.edge import bar, kmh
from analysis.present.sentences import joined, numbered, sentence
from analysis.present.texts import labelled, number, paragraph, plural, table

LONGEST = 22  # characters of the head of a column of differences
SHOWN = 6  # keys that differ and are told; the rest are counted
MOST_GROUNDS = 64  # that --grounds takes


def compare_text(found: Comparison, warned: Sequence[str] = (), *, details: bool = False) -> str:
    """The screen. warned: what to heed of the files, each once; details: also the measures of each at its own pick."""
    lines = [*_heading(found), ""]
    several = len(found.results) > 2
    if several and not found.as_set:
        lines += paragraph(ranking(found))
    for i in range(1, len(found.results)):
        lines += [*([""] if several else []), *_answer(found, i)]
    lines += ["", *_tables(found, details), *_chance(found)]
    for note in (*notes_below(found), *warned):
        lines += labelled("Note", sentence(note))
    return "\n".join([*lines, *closing(PIN_NOTE)])


def _heading(found: Comparison) -> list[str]:
    first = found.results[0].design
    designs = [one.design for one in found.results]
    names = joined([one.name for one in designs])
    ground = f"{first.scenario.length:.6g} m, {numbered('ground', found.seeds)}"
    if len({one.scenario.path for one in designs}) == 1:
        lines = paragraph(f"{first.scenario.title} ({first.scenario.name}), {names}: {ground}", indent=2)
    else:
        lines = paragraph(f"{names} on the ground of {first.name}, {ground}", indent=2)
    lines += [line for text in ground_note(found) for line in paragraph(sentence(text), indent=2)]
    told = differing(designs, settings=found.as_set)
    if not told:
        alike = all(same(first, one) for one in designs)
        text = "No value differs." if alike else "They differ in settings or in lists of tables alone."
        return [*lines, *paragraph(text, indent=2)]
    texts = [f"{one.name} {' → '.join(one.values)}" for one in told[:SHOWN]]
    more = f"; {len(told) - SHOWN} more keys" if len(told) > SHOWN else ""
    return [*lines, *paragraph(f"What differs: {'; '.join(texts)}{more}", indent=2)]


def _answer(found: Comparison, i: int) -> list[str]:
    """Lines on one design against the first: which is better at what; what matters; what does not."""
    first, other = found.results[0], found.results[i]
    if same(first.design, other.design) and other.design.own_ground:
        ground = f"{other.design.name} differs from {first.design.name} in its ground alone, which was not used: "
        return paragraph(f"{ground}there is nothing to compare. rowbench window takes each on its own ground.")
    if same(first.design, other.design):
        return paragraph(f"{other.design.name} is the same design as {first.design.name}: every difference is exactly "
                         "zero.")  # fmt: skip
    parts = [area_as_set(found, i)] if found.as_set else [speed_sentence(found, i), ground_by_ground(found, i)]
    lines = paragraph(" ".join(part for part in (*parts, verdict(found, i), out_of_place(found, i)) if part))
    told = sorted_out(found, i)
    if told.matters:
        lines += labelled("  Matters", sentence("; ".join(told.matters)))
    if told.small:
        lines += labelled("  Does not", sentence(f"{joined(told.small)}: too little to act on, or nothing"))
    if told.unknown:
        lines += labelled("  Not known", sentence(f"{joined(told.unknown)}: {_more_grounds(found)}"))
    held = held_back(found, i)
    return [*lines, *(labelled("  Not faster", f"{held}.") if held else [])]


def _more_grounds(found: Comparison) -> str:
    count = len(found.seeds)
    more = min(MOST_GROUNDS, 4 * count)
    return f"{plural(count, 'ground')} cannot tell" + (f"; more may (--grounds {more})" if more > count else "")


# --- tables -------------------------------------------------------------------------------------------------------


def _tables(found: Comparison, details: bool) -> list[str]:
    """The picks, then the measures at one setting; in full those of each at its own pick as well."""
    lines = []
    own = [one.own for one in found.results]
    if not found.as_set and any(at is not None for at in own):
        lines += [*_table(found, "Each at its own pick", own, measures=details, own=True), ""]
    common: list[At | None] = [one.common for one in found.results]
    title = "Each at its own setting" if found.as_set else f"All at {common_setting(found)} ({_whose(found)})"
    return [*lines, *_table(found, title, common, measures=True, own=False), ""]


def _table(found: Comparison, title: str, ats: Sequence[At | None], *, measures: bool, own: bool) -> list[str]:
    corner, names = _names(found)
    several = len(names) > 2
    rows = _settings(found, ats) if own or found.as_set else []
    wide = [(row[0], *row[1:]) for row in rows]
    differences = []
    for m in found.measures if measures else ():
        name, values = f"{m.words}, {m.form[0]}", [_value(m, at) for at in ats]
        changes = [_change(found, m, i, own=own) for i in range(1, len(ats))]
        wide.append((name, *values) if several else (name, *values, *changes))
        differences.append((name, *changes))
    less = f"{names[1]} less {names[0]}"
    less = less if len(less) <= LONGEST else "difference"
    head = (corner, *names) if several else (corner, *names, less if measures else "")
    if not several:
        wide = [row if len(row) == len(head) else (*row, "") for row in wide]
    lines = [*paragraph(title), *table(head, wide, indent=0, gap=2)]
    if several and measures:
        lines += ["", *paragraph(f"Less {names[0]}"), *table((corner, *names[1:]), differences, indent=0, gap=2)]
    return lines


def _names(found: Comparison) -> tuple[str, list[str]]:
    """Heads of the columns; what all names begin with ("mass_kg = 95") goes into the corner.

    Of two designs the third column is the difference.
    """
    names = [one.design.name for one in found.results]
    begins = {name.partition(" = ")[0] for name in names if " = " in name}
    if len(begins) == 1 and all(" = " in name for name in names):
        return begins.pop(), [name.partition(" = ")[2] for name in names]
    return "", names


def _settings(found: Comparison, ats: Sequence[At | None]) -> list[tuple[str, ...]]:
    """Rows of what each is set to, and its hectares an hour."""
    rates = [
        "–" if at is None else number(one.design.scenario.machine.hectares_per_hour(at.speed), 2)
        for at, one in zip(ats, found.results, strict=True)
    ]
    pressures = ["–" if at is None else f"{bar(at.oil_pressure):.4g}" for at in ats]
    speeds = ["–" if at is None else f"{kmh(at.speed):.4g}" for at in ats]
    return [("oil pressure, bar", *pressures), ("speed, km/h", *speeds), ("hectares an hour", *rates)]


def _value(m: Measured, at: At | None) -> str:
    if at is None:
        return "–"
    value = mean(at.values[m.name])
    return "not crossed" if math.isnan(value) else number(value * m.form[1], m.form[2])


def _change(found: Comparison, m: Measured, i: int, *, own: bool) -> str:
    """A difference from the first with the half width of its interval, "*" where it is beyond chance."""
    change = found.difference(i, m.name, own=own)
    if change is None:
        return "–"
    if change.none:
        return "0 "
    told = with_half(change, m.form[1], m.form[2])
    return f"{told}{'*' if change.beyond_chance and not told.startswith('0') else ' '}"


def _whose(found: Comparison) -> str:
    if found.chosen is None:
        return f"the setting of {found.results[0].design.name}'s file: none has a pick"
    return f"the pick of {found.results[found.chosen].design.name}"


def _chance(found: Comparison) -> list[str]:
    count = len(found.seeds)
    if count == 1:
        return paragraph("Nothing on this ground is random: it was crossed once, and the differences are those of this "
                         "ground alone; on another they will be others.")  # fmt: skip
    few = " So few grounds say little." if count < FEW else ""
    return paragraph(
        f"± is half the 95 % interval of a difference (paired t over {plural(count, 'ground')}), * beyond chance. "
        f"Chance is which ground of this kind it is, not what is in doubt of unit and soil.{few}"
    )
