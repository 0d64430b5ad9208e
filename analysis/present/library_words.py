"""What `rowbench library` and `rowbench draw` print."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from analysis.present.cautions import warned
from analysis.present.sentences import spoken
from analysis.present.texts import number, paragraph, table

HEADS = {"scenario": "Scenarios", "unit": "Units", "soil": "Soils", "paddock": "Paddocks"}


def library_text(entries: Mapping[str, Sequence[Mapping[str, Any]]]) -> str:
    """The library's scenarios, units, soils and paddocks; entries: by kind, each with name, title and shows."""
    width = max(len(entry["name"]) for found in entries.values() for entry in found) + 2
    lines: list[str] = []
    for kind, found in entries.items():
        lines.append(HEADS[kind])
        for entry in found:
            text = ". ".join(part.rstrip(".") for part in (entry["title"], entry["shows"]) if part) + "."
            lines += paragraph(text, first=f"  {entry['name']:<{width}}")
        lines.append("")
    lines += paragraph(
        "Run a scenario with: rowbench run NAME, or search it with: rowbench window NAME; a paddock with: "
        "rowbench paddock NAME --out RESULT.h5."
    )
    return "\n".join(lines)


COUNTED_NOTE = (
    "This table counts from O. A scenario file counts upper_pin_m from O; points of the toolbar (crank_pivot_m, "
    "actuator_base_m) from U0; the cylinder's frame_m from L0; points of the carrier (hub_m, boot_m, arm_pivot_m, "
    "bell_pivot_m, pivot_m, centre_m) from U1, arms at angle zero. x is positive forward, z upward."
)


def points_text(title: str, points: Mapping[str, tuple[float, float]], warnings: Sequence[str] = ()) -> str:
    """Where the pins, hubs and axles of a unit lie; warnings: those of its file."""
    rows = [(spoken(name), number(x, 3), number(z, 3)) for name, (x, z) in points.items()]
    head = ("x forward, z up from the toolbar's centre of mass O", "x, m", "z, m")
    lines = [f"Unit of {title}, at its depth setting", *table(head, rows, indent=0), "", *paragraph(COUNTED_NOTE)]
    return "\n".join([*lines, *([""] if warnings else []), *warned(warnings)])
