"""What `rowbench pins` tells a reader, every sentence from the numbers."""

from __future__ import annotations

import math
from collections.abc import Sequence

from analysis.pins.duty.duty import Duty
from analysis.pins.wear.life import PRACTICE, Needed, PinLife, Pins, clearance
from analysis.pins.wear.limits import Asked
from analysis.pins.wear.materials import MATERIALS, Span
from analysis.pins.wear.told import SEASONS, TEN, Told
from analysis.present.cautions import PIN_NOTE, closing, warned
from analysis.present.sentences import SCREEN, items, joined, numbered, setting, span, spoken
from analysis.present.texts import number, paragraph, percent, plural, short, table

BUSY = 800.0  # hours a year in the ground above which the working width is asked about
LONGEST = 4.0  # diameters of its pin: a bush that is longer does not bear over its length (assumed)
NEAR = 0.5  # share of a limit from which on it is told
HEAD = ("pin", "peak", "RMS", "equiv", "bush", "P·V", "wear", "years", "limit")
CODES = {"peak pressure": "peak P", "pressure": "P", "sliding speed": "V", "P·V": "P·V", "pin's strength": "pin"}
UNITS = {"peak pressure": (1e6, "MPa"), "pressure": (1e6, "MPa"), "sliding speed": (1.0, "m/s"),
         "P·V": (1e6, "MPa m/s"), "pin's strength": (1e6, "MPa")}  # fmt: skip
TABLE_NOTE = (
    "Peak, RMS, equivalent: the pin's load, kN; equivalent: the range that does the damage of all its cycles if it "
    "came once a metre. Bush: peak pressure of the worse bush, MPa. P·V: kW/m². Wear: µm per 1000 ha. Years: to the "
    "worn-out play. Limit: what limits it; – where the pin does not turn."
)


def two(value: float) -> str:
    """A number to two figures.

    >>> two(0.876), two(39.3), two(19700.0), two(8.0)
    ('0.88', '39', '20000', '8')
    """
    return f"{float(f'{value:.2g}'):.15g}"


def from_to(ends: Span, factor: float = 1.0, join: str = " to ") -> str:
    """A range to two figures.

    >>> from_to((0.876, 39.3)), from_to((5.0, 5.01))
    ('0.88 to 39', '5')
    """
    return span(two(ends[0] * factor), two(ends[1] * factor), join)


def pins_text(told: Told, title: str, beside: Sequence[str] = ()) -> str:
    """First what wears out first and why, then all pins, then how sure; beside: lines on stones and other settings."""
    lines = [*paragraph(_head(told, title)), "", *items(*first_sentences(told)), ""]
    lines += table(HEAD, _rows(told), indent=0, gap=2)
    lines += ["", *paragraph(TABLE_NOTE), "", *items(*full_sentences(told)), ""]
    lines += [*beside, *items(*sure_sentences(told))]
    return "\n".join([*lines, *warned(told.work.warnings), *closing(PIN_NOTE)])


def _head(told: Told, title: str) -> str:
    settings = told.work.settings
    return (
        f"Pins and bushes: {title}{crossed_words(told)}, "
        f"{setting(settings.oil_pressure, settings.speed, SCREEN, ', ')}; {year_words(told)}"
    )


def crossed_words(told: Told) -> str:
    """Which grounds or rows were crossed; "" where there was one that is not random."""
    rows, numbers = told.work.rows, told.work.grounds
    if rows is not None:
        return (
            f", {rows.rows} of {plural(rows.all_rows, 'row')} on {rows.passes} of "
            f"{plural(rows.all_passes, 'pass', 'passes')}"
        )
    return f", {numbered('ground', numbers)}" if numbers else ""


def first_sentences(told: Told) -> list[str]:
    """What wears out first; what is asked for more than it bears; the life beside common practice."""
    found = told.pins
    no_field = _no_field(told)
    return [*no_field, *_busy(found), *_passed(found), *_wears_first(found), *([] if no_field else _practice(told))]


def _busy(found: Pins) -> list[str]:
    """Hours that no farm works: the width is not the machine's, as a rule."""
    year = found.farm
    if year.hours <= BUSY:
        return []
    return [
        f"{two(year.hours)} hours a year in the ground: is {short(round(year.width, 2))} m, rows × row_spacing_m in "
        "[machine], the width of the whole machine? All years below hang on it; --width M says another."
    ]


def _no_field(told: Told) -> list[str]:
    """That a single shape on flat ground is no year's work."""
    if told.work.of_field:
        return []
    return [
        "This ground is no field: a shape or two on flat ground, or flat. Its loads hold, its years do not, since wear "
        "comes from how much the arms swing; for years take a field's ground (rough, or a measured profile)."
    ]


def _wears_first(found: Pins) -> list[str]:
    first = found.first
    if first.years is None:
        return ["No pin turns on this ground: nothing of its wear can be told."]
    play = found.unit.pins.worn_out_play
    side = f" (its {first.duty.side} bush, seen in travel)" if first.duty.side else ""
    return [
        f"Wears out first: {spoken(first.name)}{side}, after {from_to(first.years)} years or "
        f"{from_to(first.years, found.farm.hectares)} ha, to {short(play * 1e3)} mm of play. The range is that of how "
        f"fast bushes wear, which nobody has measured on your machine; its middle, by ratio, is "
        f"{two(first.middle_years)} years. {_why(first)}"
    ]


def _why(life: PinLife) -> str:
    """What makes the worse bush's load, and what limits it."""
    duty = life.duty
    if duty.couple_part <= 0.0 or duty.pin.bushes == 1:
        return f"Its bush bears {number(duty.mean / 1e3)} kN in the mean."
    half, beside = number(duty.in_plane / 1e3), number(duty.couple_part / 1e3)
    return (
        f"Its worse bush bears {number(duty.mean / 1e3)} kN in the mean: half the pin's load is {half} kN, and what "
        f"acts beside the links (disc, wheels) adds up to {beside} kN on a span of {short(duty.pin.span * 1e3)} mm; "
        "twice the span, half of that."
    )


def _passed(found: Pins) -> list[str]:
    if not found.passed:
        return []
    named = joined([f"{spoken(life.name)} ({_asked(life.asked[0])})" for life in found.passed])
    return [f"Asked for more than it bears: {named}. Change that before asking how long it lasts."]


def _asked(one: Asked) -> str:
    """A thing asked beside its limit, in its unit."""
    if not math.isfinite(one.value):
        return f"{one.name}: bears on its edge alone"
    factor, unit = UNITS[one.name]
    return f"{one.name} {two(one.value / factor)} of {two(one.limit / factor)} {unit}"


def _practice(told: Told) -> list[str]:
    """The life of the main pins beside common practice, with what would have to be true."""
    main = told.pins.first_main
    if main.years is None or not told.practice:
        return []
    low, high = PRACTICE
    other = "" if main is told.pins.first else f" (here {spoken(main.name)} {from_to(main.years)})"
    return [
        f"Common practice: well-built, greased main pins last {low:g} to {high:g} years on a broadacre farm{other}. "
        f"For that, at these hectares a year, the wear factor would have to be {_between(told.practice)}·10⁻⁶ "
        f"mm³/(N m); assumed is {from_to(main.factor, 1e15)}{_beyond(told.practice, main)}. {_greased(told)}"
    ]


def _beyond(needs: tuple[Needed, ...], main: PinLife) -> str:
    """That the assumed range does not reach what practice would take, where it does not."""
    low, high = min(n.factor for n in needs), max(n.factor for n in needs)
    return "" if low <= main.factor[1] and high >= main.factor[0] else ", which does not reach it"


def _between(needs: tuple[Needed, ...]) -> str:
    return from_to((min(n.factor for n in needs), max(n.factor for n in needs)), 1e15)


def _greased(told: Told) -> str:
    """What greasing common practice would take, with wear factors in the middle of their ranges."""
    year, pins = told.pins.farm, told.pins.unit.pins
    shares = [need.lubricated for need in told.practice if need.lubricated is not None]
    counts = [need.greasings for need in told.practice if need.greasings is not None]
    middle = "With factors in the middle of their ranges"
    lubrication, of = told.pins.first_main.duty.pin.lubrication, MATERIALS[told.pins.first_main.duty.pin.material]
    if of.lubricated == of.starved:
        return "Grease changes nothing in that material."
    if lubrication != "greased":
        return f"It is not greased ({lubrication} in the file), so no greasing comes into it."
    if len(counts) < len(told.practice) or max(shares) <= 0.0 or min(shares) > 1.0:
        if shares and max(shares) <= 0.0:
            return f"{middle} they would last longer even without grease."
        return f"{middle} no greasing alone gives that."
    low, high = (min(max(share, 0.0), 1.0) for share in (min(shares), max(shares)))
    time, often = from_to((100.0 * low, 100.0 * high)), from_to((max(min(counts), 0.0), max(counts)))
    return (
        f"{middle}: grease in the bushes {time} % of the time, {often} greasings a year; now "
        f"{percent(year.lubricated, 0)}, {two(pins.greasings_a_year)} greasings, each taken to last "
        f"{two(pins.grease_lasts / 3600.0)} h."
    )


def workshop_rows(told: Told) -> list[dict[str, str]]:
    """All pins as a page's table shows them: name, sizes, pressure, wear, years, what limits."""
    rows = []
    for life in told.pins.lives:
        pin, over = life.duty.pin, life.asked[0].share > 1.0
        worn = life.years is not None and life.wear_per_hectare is not None
        rows.append({
            "name": spoken(life.name),
            "size": f"{short(pin.diameter * 1e3)} × {short(pin.length * 1e3)} mm"
            + (f", {short(pin.span * 1e3)} apart" if pin.bushes > 1 else ", one bush"),
            "pressure": number(life.duty.pressure_peak / 1e6),
            "wear": from_to(life.wear_per_hectare, 1e9) if worn and life.wear_per_hectare else "–",
            "years": from_to(life.years) if worn and life.years else "–",
            "limit": _asked(life.asked[0]) if over else life.limit if worn else "does not turn",
        })  # fmt: skip
    return rows


def year_words(told: Told) -> str:
    """The year's work that all is reckoned for."""
    year = told.pins.farm
    assumed = "" if year.given else " (assumed: 250 ha for each metre of working width)"
    hectares = short(year.hectares) if year.given else short(float(f"{year.hectares:.3g}"))
    return (
        f"{hectares} ha a year{assumed} on {short(round(year.width, 2))} m: {two(year.travel / 1e3)} km of each row, "
        f"{two(year.hours)} h in the ground"
    )


def _rows(told: Told) -> list[tuple[str, ...]]:
    return [_row(life, duty, told.pins) for life, duty in zip(told.pins.lives, told.duties, strict=True)]


def _row(life: PinLife, duty: Duty, found: Pins) -> tuple[str, ...]:
    bush = life.duty
    worn = ("–", "–")
    if life.years is not None and life.wear_per_hectare is not None:
        worn = (from_to(life.wear_per_hectare, 1e9, "–"), from_to(life.years, 1.0, "–"))
    over = life.asked[0].share > 1.0
    limit = CODES.get(life.limit, life.limit) if over or life.years is not None else "–"
    return (
        spoken(life.name), number(duty.peak / 1e3), number(duty.rms / 1e3), number(duty.equivalent / 1e3),
        number(bush.pressure_peak / 1e6), number(bush.pressure_velocity(found.speed) / 1e3), *worn,
        f"{limit}!" if over else limit,
    )  # fmt: skip


def full_sentences(told: Told) -> list[str]:
    """The pin asked for, or the one that wears out first: sizes, limits, play by season, ten years."""
    life, bush = told.of, told.of.duty
    pin = bush.pin
    bushes = (
        f"two bushes {short(pin.length * 1e3)} mm long, {short(pin.span * 1e3)} mm apart"
        if pin.bushes > 1
        else f"one bush {short(pin.length * 1e3)} mm long"
    )
    near = [one for one in life.asked if one.share >= NEAR] or [life.asked[0]]
    most = "Nearest to a limit" if near[0].share <= 1.0 else "Beyond a limit"
    return [
        f"{spoken(life.name).capitalize()}: pin of {short(pin.diameter * 1e3)} mm, {bushes}, of "
        f"{MATERIALS[pin.material].words}, {pin.lubrication}. {most}: "
        f"{joined([f'{_asked(one)} ({percent(one.share, 0)})' for one in near])}.",
        *_play(told),
        *_ten(told),
        *_costs(told),
    ]


def _play(told: Told) -> list[str]:
    found = clearance(told.of, told.pins.farm, SEASONS)
    if told.of.years is None:
        return ["It does not turn on this ground, so no wear is reckoned for it."]
    out = told.pins.unit.pins.worn_out_play
    parts = [f"{n:g}: {_added(ends, out)}" for n, ends in zip(SEASONS, found, strict=True) if ends is not None]
    return [f"Play that wear has added after so many seasons, mm: {'; '.join(parts)}."]


def _added(ends: Span, worn_out: float) -> str:
    """Play added [m], told up to the worn-out play."""
    if ends[0] >= worn_out:
        return "worn out"
    return f"{two(ends[0] * 1e3)} to worn out" if ends[1] >= worn_out else from_to(ends, 1e3)


def _ten(told: Told) -> list[str]:
    need, pin = told.needed, told.of.duty.pin
    if need is None or told.of.years is None:
        return []
    room = min(LONGEST * pin.diameter, pin.span if pin.bushes > 1 else math.inf)
    texts = [f"bush length {_ends(need.length, room)} (now {short(pin.length * 1e3)} mm)"]
    if pin.bushes > 1 and told.of.duty.couple_part > 0.0:
        texts.append(f"span {_ends(need.span, math.inf)} (now {short(pin.span * 1e3)} mm)")
    if need.greasings is not None and need.lubricated is not None and 0.0 < need.lubricated <= 1.0:
        now = two(told.pins.unit.pins.greasings_a_year)
        texts.append(f"{math.ceil(need.greasings)} greasings a year, factor in the middle (now {now})")
    return [
        f"{TEN:g} years by one change alone, wear factor in the middle of its range / at its highest: "
        f"{'; '.join(texts)}. A thicker pin does not wear less: it lowers the pressure and slides as much further; it "
        "is stronger."
    ]


def _ends(values: tuple[float | None, float | None], room: float) -> str:
    """A size [m] for the middle and for the highest wear factor; "none" where there is none, or no room for it."""
    said = ["none" if value is None or value > room else f"{two(value * 1e3)} mm" for value in values]
    return said[0] if said[0] == said[1] else " / ".join(said)


def _costs(told: Told) -> list[str]:
    if not told.costs:
        return []
    words = {"pressure": "5 bar more", "speed": "1 km/h more", "ground": "ground of the next class (four times Gd)"}
    parts = [f"{words[cost.what]} {_more(cost.ratio)}" for cost in told.costs]
    return [f"Wear of this pin per hectare: with {', with '.join(parts)}."]


def _more(ratio: float) -> str:
    """A change of wear in words."""
    if 0.995 < ratio < 1.005:
        return "as much"
    return f"{abs(ratio - 1.0) * 100.0:.0f} % {'more' if ratio > 1.0 else 'less'}"


def sure_sentences(told: Told) -> list[str]:
    """What the ranges hold, and what is left out."""
    found = told.pins
    still = [spoken(life.name) for life in found.lives if life.years is None]
    out = found.unit.pins.worn_out_play
    texts = [
        "How sure: wear factors are from memory, assumed, and spread over a factor of ten and more. One measurement "
        f"beats them: a season that added 0.2 mm of play means {two(out / 0.0002)} seasons to {short(out * 1e3)} mm. "
        "All wear is taken to fall on one side of the bush, the most it can be (rowbench pins --rose: where loads "
        "point). "
        "Who takes the couples, upper or lower pins, is in the range of the main pins "
        f"({percent(found.unit.pins.upper_share, 0)} upper assumed). Sizes of pins, and where disc and wheels stand "
        "beside the links, are made up unless your file says them: [unit.pins], lateral_mm, arm_lateral_mm.",
    ]
    within = told.stretch.known_within(told.of.name)
    if math.isfinite(within):
        texts.append(
            f"What was crossed ({told.stretch.runs} runs, {short(round(told.over.distance))} m in all) places the wear "
            f"of the pin told in full within ±{percent(within, 0)} of such ground's mean (19 cases in 20)."
        )
    if not told.stones:
        texts.append(
            "No stones on this ground: a stone brings several times these peaks (rowbench pins stony), and strength is "
            "judged by them."
        )
    if still:
        texts.append(
            f"Not turning here: {joined(still)}. Shaking in place (fretting), and what they turn when the depth is "
            "set, are not reckoned."
        )
    texts.append(
        "Not in it: twist of the frame, side forces of wheels, steering on contours; side slope "
        f"{short(math.degrees(found.unit.pins.side_slope))}° (side_slope_deg in [unit.pins])."
    )
    return texts
