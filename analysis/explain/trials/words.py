"""The table of all changes tried: what each gives at the worst place and over the whole ground."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.explain.trials.changes import Price
from analysis.explain.trials.limits_held import RULE
from analysis.explain.trials.sentences import change_words, way_words
from analysis.explain.wheel.words import kilonewtons
from analysis.present.edge import mm
from analysis.present.sentences import items
from analysis.present.texts import number, paragraph, percent, table
from analysis.window.limits import asked_text

if TYPE_CHECKING:
    from analysis.explain.explain import Explanation

COLUMNS = {  # limits that have a column of their own
    "on_depth_share_min": "on depth",
    "wheel_off_share_max": "wheel off",
    "gauge_load_min": "gauge load",
    "gauge_load_max": "gauge load",
}
SHORT = {"pin_peak_max": "pins", "gas_pressure_max": "gas", RULE: "rule"}  # of the others


def trial_lines(told: Explanation) -> list[str]:
    """The table, what could not be crossed, and what its marks mean."""
    rows = [("as it is", *_cells(told.price, abs(told.places[0].what.error) if told.places else None))]  # type: ignore[union-attr]
    missing, prices = [], [told.price]
    for t in told.tried:
        if t.price is None:
            missing.append(f"{change_words(t.change)}: not counted, {t.problem}")
            continue
        rows.append((change_words(t.change), *_cells(t.price, t.outcomes[0].figure if told.places else None)))
        prices.append(t.price)
    head = ["Tried, whole ground", *(["place 1"] if told.places else []), "on depth", "wheel off", "gauge load", ""]
    if not any(row[-1] for row in rows):
        head, rows = head[:-1], [row[:-1] for row in rows]
    return [*table(head, rows, indent=0), *items(*missing), *_legend(prices)]


def whole_ground(told: Explanation) -> str:
    """What keeps most of the whole ground on depth within all limits, of what was tried."""
    best = told.best_of_all
    if best is not None and best.price is not None:
        share, now = percent(best.price.whole.on_depth_share), percent(told.price.whole.on_depth_share)
        kept = "all limits kept" if not told.price.broken else "all limits kept, unlike now"
        return f"Whole ground: of all tried {way_words(best.change)} keeps most on depth: {share} (now {now}), {kept}."
    if told.price.broken:
        return "Whole ground: no single change tried keeps all limits."
    return "Whole ground: nothing tried keeps more of it on depth within the limits."


def _cells(price: Price, error: float | None) -> tuple[str, ...]:
    w, over = price.whole, {COLUMNS[name] for name in price.broken if name in COLUMNS}

    def marked(column: str, text: str) -> str:
        return f"{text}!" if column in over else text

    others = sorted(SHORT.get(name, "other") for name in price.broken if name not in COLUMNS)
    return (
        *(() if error is None else (f"{number(mm(error), 0)} mm",)),
        marked("on depth", percent(w.on_depth_share)),
        marked("wheel off", percent(w.wheel_off_share)),
        marked("gauge load", kilonewtons(w.gauge_load_mean)),
        f"{others[0]}{'+' * (len(others) > 1)}!" if others else "",
    )


def _legend(prices: list[Price]) -> list[str]:
    """The limits that any of them breaks."""
    names = {name for price in prices for name in price.broken}
    said = [asked_text(h.limit, h.asked) for h in prices[0].held if h.limit.name in names]
    said += ["rule: precharge and oil pressure suit each other (`rowbench pressures`)"] if RULE in names else []
    return paragraph(f"! beyond a limit: {'; '.join(said)}.") if said else []
