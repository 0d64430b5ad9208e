"""A report as the document that `--json` prints."""

from __future__ import annotations

from typing import Any

from analysis.report.report import Report
from analysis.version import VERSION
from analysis.window.advice_document import advice_document


def report_document(made: Report) -> dict[str, Any]:
    """The window's document, the pins, and where the stretch lies."""
    return {
        **advice_document(made.advice),
        "pins": {n: {"peak_N": p.peak, "rms_N": p.rms, "mean_N": p.mean} for n, p in made.pins.items()},
        "shown": {"from_m": made.stretch.first, "to_m": made.stretch.last, "seed": made.stretch.seed},
        "run": {"version": VERSION},
    }
