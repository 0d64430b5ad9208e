"""What `rowbench design` tells: the design to look at first, what it costs, the front, how it stands on new ground."""

from __future__ import annotations

from collections.abc import Sequence

from analysis.design.files import file_names
from analysis.design.judged import Judged, Worth
from analysis.design.search import Search
from analysis.present.cautions import LOADS_NOTE, PRESSURE_SHORT
from analysis.present.edge import kmh
from analysis.present.sentences import items, joined, numbered, sentence
from analysis.present.texts import number, paragraph, percent, plural, table
from scenarios.format.edge_units import unit_text

SHOWN = 8  # designs in the table
AT_END = 0.02  # share of its range within which a value lies at a bound
WORSE = 1.05  # of what is no aim: told from a twentieth more
HEAD = ("design", "ha/h", "km/h", "on depth", "pin kN", "peak kN", "wheel off", "new ground")


def design_text(found: Search, title: str, folder: str) -> str:
    """The screen. folder: where the files are written."""
    free = joined([f"{knob.name} {knob.low:g} to {knob.high:g}" for knob in found.space.free])
    low, high = (kmh(v) for v in found.space.speeds)
    speed = f"speed {low:g} to {high:g} km/h" if low < high else f"speed {low:g} km/h"
    lines = [*paragraph(f"Designs: {title}; {free}, {speed}"), *items(*first_sentences(found)), ""]
    if found.front:
        lines += [*table(HEAD, _rows(found), indent=0, gap=2), ""]
    lines += items(*sure_sentences(found, folder))
    return "\n".join([*lines, "", *paragraph(f"{LOADS_NOTE} {PRESSURE_SHORT}")])


def first_sentences(found: Search) -> list[str]:
    """Which design to look at first, and what it costs in what was not searched for."""
    if not found.front:
        return [_none(found)]
    i = first_of(found)
    one, name = found.front[i], file_names(found)[i].removesuffix(".toml")
    assert one.worth is not None
    lead = "most hectares an hour with every limit met"
    if found.unseen:
        held = found.unseen[i].meets
        lead += ", on ground that the search has not seen too" if held else "; none of the front holds on new ground"
    values = joined([f"{knob.name} = {value:.4g}" for knob, value in
                     zip(found.space.free, found.space.values(one.point), strict=True)])  # fmt: skip
    said = [f"{lead}: {name}, {_worth(one.worth, found.space.speed(one.point))} ({values})"]
    said += [f"the file's own: {_own(found)}"]
    said += [text for text in (_costs(found, one), _ends(found, one)) if text]
    return [sentence(text) for text in said]


def first_of(found: Search) -> int:
    """Number of the design with most hectares an hour that holds on new grounds too; the first where none does."""
    return next((i for i, one in enumerate(found.unseen) if one.meets), 0)


def _worth(worth: Worth, speed: float) -> str:
    return (f"{number(worth.hectares, 2)} ha/h at {number(kmh(speed))} km/h, on depth {percent(worth.on_depth)}, mean "
            f"pin load {number(worth.pin / 1e3, 2)} kN")  # fmt: skip


def _own(found: Search) -> str:
    own = found.own
    if own.worth is None:
        return f"cannot be crossed ({own.why})"
    failing = "" if own.meets else f"; it fails a limit: {own.why}"
    return f"{_worth(own.worth, found.space.scenario.settings.speed)}{failing}"


def _costs(found: Search, one: Judged) -> str:
    """What is no aim of the search and comes out worse than with the file's own values."""
    if found.own.worth is None or one.worth is None:
        return ""
    own, worth = found.own.worth, one.worth
    told = []
    if worth.pin_peak > WORSE * own.pin_peak:
        told.append(f"the peak pin load rises from {number(own.pin_peak / 1e3)} to {number(worth.pin_peak / 1e3)} kN")
    if worth.wheel_off > max(WORSE * own.wheel_off, own.wheel_off + 0.001):
        told.append(f"the wheel is off the ground for {percent(worth.wheel_off)} of the way ({percent(own.wheel_off)})")
    if worth.press < own.press / WORSE:
        told.append(f"the press wheel presses with {number(worth.press, 0)} in place of {number(own.press, 0)} N")
    return f"it costs what was not searched for: {joined(told)}" if told else ""


def _ends(found: Search, one: Judged) -> str:
    """Values at a bound: the best may lie beyond."""
    told = []
    for knob, u in zip(found.space.free, one.point.tolist(), strict=False):
        if not AT_END < u < 1.0 - AT_END:
            end = knob.low if u <= AT_END else knob.high
            told.append(f"{knob.name} lies at its bound of {end:g}{unit_text(knob.edge)}")
    return f"{joined(told)}: the best may lie beyond it" if told else ""


def _none(found: Search) -> str:
    if found.nearest is None:
        return "None of the designs tried could be crossed: other bounds, or rowbench run FILE for why."
    return (
        f"None of {plural(found.tried, 'design')} tried meets every limit of the file; that which fails by least: "
        f"{found.nearest.why}. No file is written. Wider bounds, or a slower speed (--speeds)."
    )


def _rows(found: Search) -> list[tuple[str, ...]]:
    names = file_names(found)
    rows = []
    for i in shown(len(found.front), first_of(found)):
        worth, speed = found.front[i].worth, found.space.speed(found.front[i].point)
        assert worth is not None
        new = ("holds" if found.unseen[i].meets else "fails") if found.unseen else "not tried"
        rows.append((names[i].removesuffix(".toml"), *_cells(worth, speed), new))
    own = found.own.worth
    if own is not None:
        own_speed = found.space.scenario.settings.speed
        rows.append(("the file's", *_cells(own, own_speed), ""))
    return rows


def _cells(worth: Worth, speed: float) -> tuple[str, ...]:
    return (number(worth.hectares, 2), number(kmh(speed)), percent(worth.on_depth), number(worth.pin / 1e3, 2),
            number(worth.pin_peak / 1e3), percent(worth.wheel_off))  # fmt: skip


def shown(count: int, first: int) -> Sequence[int]:
    """Numbers of the designs in the table: evenly over the front, that to look at first among them."""
    if count <= SHOWN:
        return range(count)
    even = {round(k * (count - 1) / (SHOWN - 2)) for k in range(SHOWN - 1)}
    return sorted({*even, first})


def sure_sentences(found: Search, folder: str) -> list[str]:
    """How many were tried, on which grounds, how they stand on others, where the files are."""
    said = []
    if found.stopped:
        said.append(f"stopped after {found.tried} of {found.asked} designs: the front is of these")
    said.append(
        f"{plural(found.tried, 'design')} tried on {numbered('ground', found.seeds)}: {found.met} met every limit, "
        f"{found.uncrossed} could not be crossed or set; a design stands on the front where no other has at least as "
        "many hectares an hour, on-depth share and as little mean pin load (root mean square of the pin with most)"
    )
    if found.unseen:
        held = sum(one.meets for one in found.unseen)
        said.append(
            f"on {numbered('ground', found.new_seeds)}, not seen by the search, {held} of {len(found.unseen)} "
            "written still meet every limit: a search finds what happens to suit its grounds; more of them help "
            "(--seeds)"
        )
    elif found.front and not found.stopped:
        said.append("nothing on this ground is random: the search has seen all of it; try the designs on others")
    if found.front:
        of = f", evenly over the {len(found.whole)} of the front" if len(found.whole) > len(found.front) else ""
        said.append(f"{plural(len(found.front), 'file')} in {folder}{of}, each to be run: rowbench window "
                    f"{folder}/{file_names(found)[first_of(found)]}")  # fmt: skip
    return [sentence(text) for text in said]
