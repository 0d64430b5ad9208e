"""The table of all changes tried: what each gives at the worst place and over the whole ground."""

from __future__ import annotations

from string import ascii_lowercase
from typing import TYPE_CHECKING

from analysis.explain.trials.changes import Price
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


def trial_lines(told: Explanation) -> list[str]:
    """The table, what could not be crossed, and what its marks mean."""
    crossed = [(change_words(t.change), t.price, t.outcomes) for t in told.tried if t.price is not None]
    letters = _letters([told.price, *(price for _, price, _ in crossed)])
    now = told.places[0].what.error if told.places else None  # type: ignore[union-attr]
    rows = [("as it is", *_cells(told.price, now, letters))]
    rows += [
        (name, *_cells(price, found[0].figure if told.places else None, letters)) for name, price, found in crossed
    ]
    head = ["Tried, whole ground", *(["place 1"] if told.places else []), "on depth", "wheel off", "gauge load", ""]
    if not any(row[-1] for row in rows):
        head, rows = head[:-1], [row[:-1] for row in rows]
    missing = [f"{change_words(t.change)}: not counted, {t.problem}" for t in told.tried if t.price is None]
    return [*table(head, rows, indent=0), *items(*missing), *_legend(told, letters)]


def _letters(prices: list[Price]) -> dict[str, str]:
    """A letter for each limit that any of them breaks and that has no column of its own."""
    names = {name for price in prices for name in price.broken} - set(COLUMNS)
    found = [h.limit.name for h in prices[0].held if h.limit.name in names]
    return dict(zip(found, ascii_lowercase, strict=False))


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


def _cells(price: Price, error: float | None, letters: dict[str, str]) -> tuple[str, ...]:
    w, over = price.whole, {COLUMNS[name] for name in price.broken if name in COLUMNS}

    def marked(column: str, text: str) -> str:
        return f"{text}!" if column in over else text

    others = "".join(letter for name, letter in letters.items() if name in price.broken)
    return (
        *(() if error is None else (f"{number(mm(abs(error)), 0)} mm",)),
        marked("on depth", percent(w.on_depth_share)),
        marked("wheel off", percent(w.wheel_off_share)),
        marked("gauge load", kilonewtons(w.gauge_load_mean)),
        f"{others}!" if others else "",
    )


def _legend(told: Explanation, letters: dict[str, str]) -> list[str]:
    """The limits that any of them breaks, those without a column behind their letters."""
    prices = [told.price, *(t.price for t in told.tried if t.price is not None)]
    names = {name for price in prices for name in price.broken}
    held = [h for h in told.price.held if h.limit.name in names]
    said = [asked_text(h.limit, h.asked) for h in held if h.limit.name not in letters]
    said += [f"{letters[h.limit.name]}: {asked_text(h.limit, h.asked)}" for h in held if h.limit.name in letters]
    return paragraph(f"! beyond a limit: {'; '.join(said)}.") if said else []
