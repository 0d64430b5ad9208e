"""Lines beside the table of pins: what stones bring, and one pin at other settings."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from analysis.pins.duty.duty_words import struck_words
from analysis.pins.duty.settings import Setting
from analysis.pins.duty.strikes import Spread, spread
from analysis.pins.wear.at_settings import AtSetting
from analysis.pins.wear.told import Told
from analysis.pins.wear.words import from_to, two
from analysis.present.edge import bar, kmh
from analysis.present.sentences import items, spoken
from analysis.present.texts import number, paragraph, plural, short, table

if TYPE_CHECKING:
    from analysis.pins.duty.extremes import Passing

FEW = 10  # strikes from which on a share of them is told
TRIED_NOTE = "Depth set again at every setting. Peak and equivalent: the pin's load, kN."
STONE_NOTE = "Stone: what one strike in ten passes on it, kN."
YEARS_NOTE = "Years: to the worn-out play; middle: of that range, by ratio."


def stone_lines(told: Told, passed: Sequence[Passing] | None = None) -> list[str]:
    """What stones bring; passed: how often they bring more than a limit, by contact stiffness, where that was asked."""
    if not told.stones:
        return []
    lines = items(_struck(told, limit_asked=passed is not None))
    if passed:
        from analysis.pins.duty.stone_words import passing_lines, passing_sentence  # noqa: PLC0415 (scipy's distributions)

        lines += ["", *(passing_lines(passed) if len(passed) > 1 else items(passing_sentence(passed[0])))]
    return [*lines, ""]


def _struck(told: Told, *, limit_asked: bool) -> str:
    found = told.stretch.strikes
    of, where = spread(found, told.struck), struck_words(told.struck)
    if not of.strikes:
        return f"{plural(found.stones, 'stone')} under this row, none struck."
    more = "" if limit_asked else " How often on a hectare: --pin-limit KN."
    return (
        f"Stones: {plural(of.strikes, 'strike')} in {short(round(found.distance))} m bring {where} {_loads(of)}, at a "
        f"contact stiffness of {told.work.stiffness / 1e6:g} MN/m, which nobody knows well.{more}"
    )


def _loads(of: Spread) -> str:
    if of.strikes < FEW:
        return f"at most {number(of.highest / 1e3)} kN (too few to say more)"
    return (
        f"{number(of.middle / 1e3)} kN or less in half of them, more than {number(of.tenth / 1e3)} kN in one of ten, "
        f"{number(of.highest / 1e3)} kN at most"
    )


def setting_lines(tried: Sequence[tuple[Setting, AtSetting | str]], name: str) -> list[str]:
    """One pin by pressure and speed: a table, with why a setting could not be crossed below it."""
    if not tried:
        return []
    stones = any(not isinstance(one, str) and one.strikes.strikes for _, one in tried)
    head = ("bar", "km/h", "peak", "equiv", *(("stone",) if stones else ()), "years", "middle")
    rows = [(short(bar(at.oil_pressure)), short(kmh(at.speed)), *_cells(one, stones=stones)) for at, one in tried]
    why = dict.fromkeys(one for _, one in tried if isinstance(one, str))
    note = " ".join([TRIED_NOTE, *([STONE_NOTE] if stones else []), YEARS_NOTE])
    lines = [*paragraph(f"{spoken(name).capitalize()} at other settings"), *table(head, rows), "", *paragraph(note)]
    return [*lines, *(line for text in why for line in paragraph(f"Not crossed: {text}.")), ""]


def _cells(one: AtSetting | str, *, stones: bool) -> tuple[str, ...]:
    if isinstance(one, str):
        return ("not crossed", "", *(("",) if stones else ()), "", "")
    struck = number(one.strikes.tenth / 1e3) if one.strikes.strikes >= FEW else "–"
    years = ("–", "–") if one.life.years is None else (from_to(one.life.years, 1.0, "–"), two(one.life.middle_years))
    return (number(one.peak / 1e3), number(one.equivalent / 1e3), *((struck,) if stones else ()), *years)
