"""A report as the document that `--json` prints."""

from __future__ import annotations

from typing import Any

from analysis.crossing.loads import pin_table
from analysis.pins.wear.document import pins_document
from analysis.report.report import Report
from analysis.version import VERSION
from analysis.window.advice_document import advice_document


def report_document(made: Report) -> dict[str, Any]:
    """The window's document, the pins, and where the stretch lies."""
    return {
        **advice_document(made.advice),
        "scenario_warnings": list(made.scenario.warnings),
        "pins": pin_table(made.pins),
        **({} if made.lead.wear is None else {"wear": pins_document(made.lead.wear)}),
        **({"pins_problem": made.pins.problem} if made.pins.problem else {}),
        "shown": {
            "from_m": made.lead.first,
            "to_m": made.lead.last,
            "seed": made.lead.laid.seed,
            **({"problem": made.lead.crossed.problem} if made.lead.crossed.problem else {}),
        },
        "run": {"version": VERSION},
    }
