"""What the tool does not know, and what must not be forgotten. In words of its own; no code or standard is replaced."""

from __future__ import annotations

from collections.abc import Iterable

from analysis.present.sentences import sentence
from analysis.present.texts import labelled, paragraph

LOADS_NOTE = "Simulated loads are for comparing settings; they are no design loads."
PRESSURE_NOTE = (
    "Before any work on cylinder, hose or accumulator: lower the machine onto stands, stop it, relieve the oil "
    "pressure, and let no one stand under raised parts. Charge accumulators with dry nitrogen only, never oxygen or "
    "air. This is work for licensed people, under the codes that hold where you are."
)
PRESSURE_SHORT = (  # on a screen that leads to the whole
    "Cylinder, hose and accumulator: work for licensed people, machine on stands, oil pressure relieved."
)
SLOT_NOTE = "Depth is that of the slot, not of the seed in it."
SLOT_SHORT = "Depth of the slot, not of the seed."  # under a figure
VESSEL_NOTE = "Never fill or set above the pressure on the plate of accumulator, cylinder, hose or valve."
STORED_NOTE = (  # under a figure
    "Stored gas and oil under pressure can kill: work on them is for licensed people."
)
READING_NOTE = (
    "Before anyone digs beside or reaches under the unit: machine lowered, tractor stopped, key out, oil pressure "
    "relieved. Weigh on level ground, nobody under raised parts. Work on oil and nitrogen is for licensed people."
)
TURNBUCKLE_NOTE = (
    "Before anyone works at a turnbuckle: machine lowered onto stands or locked, tractor stopped, key out, oil "
    "pressure relieved. Nobody stands under raised parts. Count the turns from a mark and tighten the lock nuts again."
)

PIN_NOTE = (
    "No design loads, and no substitute for calculation and test: whoever sizes a pin does both. Before anyone works "
    "at a pin or bush: machine lowered onto stands or locked, tractor stopped, key out, oil pressure relieved, the "
    "part held by something other than the pin; nobody under raised parts."
)


def warned(warnings: Iterable[str]) -> list[str]:
    """Lines of what a scenario or a crossing warns of, each a sentence without its full stop."""
    return [line for text in warnings for line in labelled("Warning", sentence(text))]


def closing(*notes: str) -> list[str]:
    """Lines at the foot of a text: an empty one, then the notes as one paragraph."""
    return ["", *paragraph(" ".join(notes))]


def page_notes() -> dict[str, str]:
    """The notes that every page shows, by the names that its template has for them."""
    return {"pressure_note": PRESSURE_NOTE, "loads_note": LOADS_NOTE, "slot_note": SLOT_NOTE}
