"""Reads a file of readings: all that is wrong with it at once, with the numbers of its lines."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

from analysis.fit.reading.positions import Place, along_the_way, sound_place
from analysis.fit.reading.readings import KINDS, Kind, Measured, Reading, uncrossed
from scenarios.format.csv_table import Column, Finds, Form, Sheet, read_sheet
from scenarios.format.errors import ScenarioError, closest, fault, shown

LARGEST = 5_000_000  # bytes
PLACES = ("", "gauge", "press")  # under which wheel a scale stood


def _optional(name: str, low: float, high: float, unit: str, hint: str, *, whole: bool = False) -> Column:
    return Column(name, low, high, f"{low:g} to {high:g}{unit}", hint, whole=whole, blank=True)


VALUE = Column("value", -1e7, 1e7, "a number", "a reading is no more than some thousands")
FORM = Form(
    what="readings",
    again="write the readings down again",
    said=("what",),
    sets=((VALUE,),),
    optional=(
        _optional("n", 1, 10_000, "", "how many single readings the value is the mean of", whole=True),
        _optional("sd", 0.0, 1e6, "", "standard deviation of the single readings, in the unit of the value"),
        _optional("oil_pressure_bar", 0.0, 250.0, " bar", "what the gauge showed, in bar"),
        _optional("speed_kmh", 1.0, 30.0, " km/h", "is it in km/h?"),
        _optional("length_m", 1.0, 10_000.0, " m", "the length over which it was measured, in metres"),
        _optional("at_m", -1e6, 1e6, " m", "place along the row, in metres"),
        _optional("latitude_deg", -84.0, 84.0, " degrees north", "is it in degrees?"),
        _optional("longitude_deg", -180.0, 180.0, " degrees east", "is it in degrees?"),
        _optional("row", 1, 200, "", "count rows from 1, left to right in travel", whole=True),
        _optional("slot_deeper_mm", -100.0, 100.0, " mm", "how much deeper the slot is than the seed lies"),
    ),
    perhaps_said=("setting", "where"),
    least="a header what,value,… and a line for each reading",
)


def read_measured(path: Path) -> Measured:
    """Readings from a CSV file; its lines may come in any order.

    Raises ScenarioError with every fault found: unreadable file, no data, no header, columns missing or twice, cells
    that are no numbers, unknown kinds, values that cannot be, what has to be said beside a value and is not.
    """
    sheet = read_sheet(path, FORM, largest=LARGEST)
    placed = []
    for number, words in enumerate(sheet.words):
        made = _reading(sheet, number, words)
        place = _place(sheet, number)
        if made is not None and sound_place(sheet.finds, made.line, place, made.at):
            placed.append((made, place))
    faults = sheet.faults()
    ways = along_the_way(placed)
    readings = [replace(made, at=at) for (made, _), at in zip(placed, ways, strict=True)]
    if not faults and not readings:
        faults.append(fault(str(path), "a header and no reading", FORM.least, "write a line for each reading"))
    if faults:
        raise ScenarioError(faults)
    return Measured(path, tuple(readings), tuple(_notes(readings, sheet)))


def _reading(sheet: Sheet, number: int, words: dict[str, str]) -> Reading | None:
    """One line; None where it has a fault, which is noted."""
    line, values = sheet.lines[number]
    given = dict(zip(sheet.columns, values, strict=True))
    kind = KINDS.get(words["what"])
    if kind is None:
        near = closest(words["what"], KINDS)
        sheet.finds.add(line, f"what {shown(words['what'])}", ", ".join(KINDS), near or "depth_mm")
        return None
    if not _sound(sheet.finds, line, kind, given, words):
        return None
    made = Reading(
        line=line,
        what=kind.name,
        value=given["value"] * kind.factor,
        n=int(_or(given, "n", 1.0)),
        sd=_or(given, "sd") * kind.factor,
        oil_pressure=_or(given, "oil_pressure_bar") * 1e5,
        speed=_or(given, "speed_kmh") / 3.6,
        setting=words.get("setting", ""),
        length=_or(given, "length_m"),
        at=_or(given, "at_m"),
        row=int(_or(given, "row", 0.0)),
        where=words.get("where", ""),
    )
    if kind.name == "seed_depth_mm":
        return replace(made, what="depth_mm", value=made.value + given["slot_deeper_mm"] / 1e3)
    return made


def _place(sheet: Sheet, number: int) -> Place:
    """Latitude and longitude of a line [degrees], NaN where not said."""
    given = dict(zip(sheet.columns, sheet.lines[number][1], strict=True))
    return _or(given, "latitude_deg"), _or(given, "longitude_deg")


def _or(given: dict[str, float], name: str, otherwise: float = math.nan) -> float:
    value = given.get(name, math.nan)
    return otherwise if math.isnan(value) else value


def _sound(finds: Finds, line: int, kind: Kind, given: dict[str, float], words: dict[str, str]) -> bool:
    """Whether a line can be used; what is wrong with it is noted."""
    before = sum(map(len, finds.kinds.values()))
    if not kind.low <= given["value"] <= kind.high:
        finds.add(line, f"{kind.name} {given['value']:g}", kind.allowed, kind.hint)
    missing = [name for name in kind.needs if not (words.get(name) or not math.isnan(given.get(name, math.nan)))]
    if kind.name == "seed_depth_mm" and "slot_deeper_mm" in missing:
        finds.add(
            line, "the depth of a seed, which does not lie at the bottom of the slot",
            "depth_mm of the slot, or seed_depth_mm with slot_deeper_mm", "dig down to the bottom of the slot",
        )  # fmt: skip
        missing.remove("slot_deeper_mm")
    for name in missing:
        finds.add(line, f"no {name}", f"{', '.join(kind.needs)} beside {kind.name}", _HINTS[name])
    if kind.crosses and given.get("oil_pressure_bar", math.nan) < 1.0:
        finds.add(line, f"oil_pressure_bar {given['oil_pressure_bar']:g}", "1 bar or more while seeding", "check it")
    if kind.name == "scale_kg" and words.get("where", "") not in PLACES:
        allowed = "gauge or press: the wheel that stood on the scale (left out: gauge)"
        finds.add(line, f"where {shown(words['where'])}", allowed, "gauge")
    if _or(given, "n", 1.0) < 2.0 and not math.isnan(given.get("sd", math.nan)):
        finds.add(line, "sd without n", "n of 2 or more beside sd", "n: how many single readings there were")
    return sum(map(len, finds.kinds.values())) == before


_HINTS = {
    "oil_pressure_bar": "what the gauge showed",
    "speed_kmh": "the speed of that pass",
    "setting": "a name: the same for all readings between which the depth setting was not touched",
    "length_m": "the length over which it was measured",
}


def _notes(readings: list[Reading], sheet: Sheet) -> list[str]:
    """What the readings cannot tell, and columns that were not used."""
    notes = []
    if len(readings) == 1 and readings[0].n == 1:
        notes.append("one reading only: it narrows little")
    alone = uncrossed(readings)
    crossed = {reading.held for reading in readings if reading.kind.crosses}
    if alone and len(alone) == len(crossed):
        notes.append(
            "no depth setting was read at a second pressure or speed: mean depths say nothing about the soil, because "
            "nobody knows where the depth setting stood; keep it untouched and read at another pressure or speed"
        )
    elif alone:
        notes.append(
            f"depth setting {', '.join(alone)}: read at one pressure and speed only, so its mean depth says nothing "
            "about the soil"
        )
    if sheet.ignored:
        notes.append(f"columns not used: {', '.join(name for name in sheet.ignored if name)}")
    return notes
