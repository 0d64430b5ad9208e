"""The field sheet: what to dig, weigh and push where, in the order in which it helps, with boxes to write in.

One page after another on A4, of one file, without a script; what is written in goes into a file of readings that
`rowbench fit --measured` takes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from analysis.drawn.templates import rendered
from analysis.fit.following.candidates import WALK, Candidate
from analysis.fit.following.measure_next import Next, Suggestion
from analysis.fit.following.next_words import aim, job, less, share_of
from analysis.fit.reading.readings import KINDS
from analysis.present.cautions import PRESSURE_NOTE, SLOT_NOTE
from analysis.present.edge import bar, kmh
from analysis.present.sentences import capital

HEADER = "what,value,oil_pressure_bar,speed_kmh,setting,length_m,at_m,where"
NAME = "A"  # of the depth setting on the sheet, where the readings have none yet
GROUND = "on ground like the rest of the paddock, no headland, no wheel track"


@dataclass(frozen=True)
class Boxes:
    """A row of boxes to write in."""

    label: str
    unit: str
    count: int


@dataclass(frozen=True)
class Job:
    """One job of the sheet in words."""

    title: str
    worth: str
    steps: tuple[str, ...]
    boxes: tuple[Boxes, ...]
    lines: tuple[str, ...]  # as they go into the file of readings, the value left out


def field_sheet(title: str, file: str, found: Next | None, version: str) -> str:
    """The sheet as one HTML page.

    title, file: of the scenario; found: what to measure next, None where nothing could be crossed to find out.
    """
    jobs = [] if found is None else _jobs(found.suggestions)
    words: dict[str, Any] = {
        "title": title,
        "file": file,
        "version": version,
        "aim": aim(found) if found is not None else "",
        "jobs": jobs,
        "header": HEADER,
        "lines": [line for one in jobs for line in one.lines],
        "pressure_note": PRESSURE_NOTE,
        "slot_note": SLOT_NOTE,
    }
    return rendered("analysis.report", "field_sheet.html.j2", words)


def _jobs(suggestions: Sequence[Suggestion]) -> list[Job]:
    """The jobs in words; a new depth setting is made in the first that needs one, and left for the others."""
    made, jobs = False, []
    for one in suggestions:
        of = one.candidate
        steps, boxes, lines = _KINDS[of.what](of)
        if KINDS[of.what].crosses:
            steps.insert(0, _setting(of.held, made))
            made = True
        jobs.append(Job(capital(job(of)), capital(less(share_of(one))), tuple(steps), tuple(boxes), tuple(lines)))
    return jobs


def _setting(held: str, made: bool) -> str:
    """What to do with the depth setting. made: whether an earlier job of the sheet set it."""
    if held or made:
        return f"Leave the depth setting as it was for {held or NAME}."
    return f"Set the depth as you would to sow and call it {NAME}. Do not touch it until the last job of this sheet."


Parts = tuple[list[str], list[Boxes], list[str]]


def _digs(of: Candidate) -> Parts:
    held = of.held or NAME
    places = [(of.oil_pressure, of.speed)] if of.beside is None else [of.beside, (of.oil_pressure, of.speed)]
    steps = [
        f"Drive 30 m or more {'at each of the settings below, ' if len(places) > 1 else ''}{GROUND}.",
        "Before anyone goes near: machine down, engine off, key out, oil pressure relieved.",
        f"Dig at {of.n} places along one row, a metre or more apart. Measure from the surface beside the slot "
        "straight down to the bottom that the disc cut, not to the seed. Write every one in whole millimetres, the odd "
        "ones too.",
    ]
    boxes = [Boxes(f"{_at(p, v)}, setting {held}", "mm", of.n) for p, v in places]
    lines = [f"depth_mm,…,{bar(p):.4g},{kmh(v):.4g},{held},,," for p, v in places]
    return steps, boxes, lines


def _walk(of: Candidate) -> Parts:
    metres = f"{WALK:g} m"
    off = of.what == "wheel_off_share"
    what = {"gauge_load_N": "mean load on the gauge wheel", "draught_N": "mean pull of the row"}.get(of.what, "")
    steps = [
        f"Drive {metres} at {_at(of.oil_pressure, of.speed)}, {GROUND}.",
        f"Machine down, engine off, key out. Walk the {metres}: how many of them have no track of the gauge wheel? "
        f"The value is those metres over {WALK:g}."
        if off
        else f"The value is the {what} over the {metres}, in N.",
    ]
    boxes = [Boxes("metres without a track" if off else what, "m" if off else "N", 1)]
    line = f"{of.what},…,{bar(of.oil_pressure):.4g},{kmh(of.speed):.4g},{of.held or NAME},{WALK:g},,"
    return steps, boxes, [line]


def _weighing(of: Candidate) -> Parts:
    pressed = bar(of.oil_pressure) > 0.0
    steps = [
        f"On a hard level floor, the scale under the {of.where} wheel, the disc free of the floor beside it.",
        f"Bring the oil to {bar(of.oil_pressure):.4g} bar by the gauge and read from outside the machine: nobody "
        "within reach of the unit, no one under it, while there is pressure on it."
        if pressed
        else "No oil pressure: relieved, and made sure that it is gone.",
        f"Read, lift, lower, read again, {of.n} times in all.",
    ]
    line = f"scale_kg,…,{bar(of.oil_pressure):.4g},,,,,{of.where}"
    return steps, [Boxes(f"{of.where} wheel", "kg", of.n)], [line]


def _pushes(of: Candidate) -> Parts:
    steps = [
        "Beside the rows, outside slots and wheel tracks, on the moisture in which you will sow.",
        f"Push at {of.n} places a metre apart along a line, down to the depth at which the disc runs. The value is the "
        "cone index at that depth, in MPa (1 MPa is 1000 kPa). Write every one, and its place.",
    ]
    return steps, [Boxes("place 1, 2, 3 … m along the line", "MPa", of.n)], ["penetrometer_MPa,…,,,,,1,"]


_KINDS = {
    "depth_mm": _digs,
    "wheel_off_share": _walk,
    "gauge_load_N": _walk,
    "draught_N": _walk,
    "scale_kg": _weighing,
    "penetrometer_MPa": _pushes,
}


def _at(pressure: float, speed: float) -> str:
    return f"{bar(pressure):.4g} bar and {kmh(speed):.4g} km/h"
