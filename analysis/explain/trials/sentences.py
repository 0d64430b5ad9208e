"""What changes do about a place, in words: figures before and after as run, at what price, and what does not help."""

from __future__ import annotations

from collections.abc import Sequence

from analysis.crossing.measures import EDGES
from analysis.explain.trials.changes import Event, Price, Tried
from analysis.explain.trials.helping import Suggestion, unhelpful
from analysis.explain.trials.knobs import DEPTH, PRECHARGE, PRESSURE, SPEED, VOLUME, Change
from analysis.explain.trials.limits_held import Held
from analysis.explain.wheel.words import kilonewtons
from analysis.present.edge import mm
from analysis.present.sentences import joined
from analysis.present.texts import number, percent, short, signed
from analysis.window.limits import value_text

WAYS = {
    (PRESSURE, -1): "less pressure", (PRESSURE, 1): "more pressure",
    (SPEED, -1): "slower", (SPEED, 1): "faster",
    (PRECHARGE, -1): "a lower precharge", (PRECHARGE, 1): "a higher precharge",
    (VOLUME, -1): "a smaller accumulator", (VOLUME, 1): "a bigger accumulator",
    (DEPTH, -1): "shallower", (DEPTH, 1): "deeper",
}  # fmt: skip
BOTH = {PRESSURE: "other pressure", SPEED: "other speed", PRECHARGE: "other precharge", DEPTH: "another depth"}
WORKSHOP = {PRECHARGE: "in the workshop"}


def change_words(change: Change) -> str:
    """A change as a user would say it: "70 bar (+10)"."""
    value, step, unit = change.edge()
    if change.knob == VOLUME:
        return f"gas {short(value)} l (×{short(value / (value - step))})"
    name = {PRECHARGE: "precharge ", DEPTH: "depth "}.get(change.knob, "")
    return f"{name}{short(value)} {unit} ({signed(step, 1 if step % 1 else 0)})"


def way_words(change: Change) -> str:
    """The same in a sentence: "less pressure, 30 bar (−10)"."""
    value, step, unit = change.edge()
    way = WAYS[change.knob, change.way]
    if change.knob == VOLUME:
        return f"{way}, {short(value)} l in place of {short(value - step)} l (another part)"
    where = f", {WORKSHOP[change.knob]}" if change.knob in WORKSHOP else ""
    return f"{way}, {short(value)} {unit} ({signed(step, 1 if step % 1 else 0)}{where})"


def suggestion_sentences(
    event: Event, found: Sequence[Suggestion], tried: Sequence[Tried], now: Price, priced: set[Change]
) -> list[str]:
    """What helps most and its price, what else helps, what another depth does, and what was tried and does not help.

    The price is that of the whole ground: it is left out where the change is among `priced`, which grows by it.
    """
    advised = [s for s in found if s.advised]
    said = []
    if advised and not advised[0].breaks:
        best = advised.pop(0)
        said = [best_sentence(event, best, None if best.change in priced else now)]
        priced.add(best.change)
        said += [f"Also {'; '.join(_brief(event, s) for s in advised)}."] if advised else []
    elif advised:
        said = [no_cure_sentence(event, advised)]
    if depths := [s for s in found if not s.advised]:
        said.append(f"At another depth (the crop decides): {'; '.join(_brief(event, s) for s in depths)}.")
    idle = unhelpful(tried, found)
    if idle and any(s.advised for s in found):
        said.append(f"Tried, no help here: {_idle(idle)}.")
    elif idle:
        said.append(f"Nothing tried helps here: {_idle(idle)}.")
    return said


def no_cure_sentence(event: Event, found: Sequence[Suggestion]) -> str:
    """What helps at the price of a limit: told, and not advised."""
    told = "; ".join(f"{way_words(s.change)}: {verdict(event, s)}, but {_broken(s)}" for s in found)
    return f"Nothing tried helps here within the limits. To know, not to set: {told}."


def best_sentence(event: Event, s: Suggestion, now: Price | None) -> str:
    """What helps most at an event, and what it costs over the whole ground against the present setting (`now`)."""
    text = f"Helps most: {way_words(s.change)}: {verdict(event, s)}"
    if now is None:
        return f"{text} (whole ground: above)."
    return f"{text}. {price_sentence(s, now)}"


def helps_there(event: Event, s: Suggestion) -> str:
    """The same without its price, where that stands elsewhere."""
    return f"Helps most there: {way_words(s.change)}: {verdict(event, s)}."


def price_sentence(s: Suggestion, now: Price) -> str:
    """On-depth share, wheel off and gauge load with a change and without."""
    then, was = s.price.whole, now.whole
    return (
        f"Whole ground then: on depth {_beside(percent(then.on_depth_share), percent(was.on_depth_share))}, wheel off "
        f"{_beside(percent(then.wheel_off_share), percent(was.wheel_off_share))}, mean gauge load "
        f"{_beside(kilonewtons(then.gauge_load_mean), kilonewtons(was.gauge_load_mean), _bound(s.price))}."
    )


def _beside(then: str, now: str, bound: str = "") -> str:
    told = f"now {now}" if then != now else "as now"
    return f"{then} ({told}{bound})"


def _bound(price: Price) -> str:
    """The limit of the mean gauge load that is nearer."""
    limits = {h.limit.name: h for h in price.held}
    least, most = limits.get("gauge_load_min"), limits.get("gauge_load_max")
    if least is not None and least.value < least.asked:
        return f"; at least {kilonewtons(least.asked)} is asked"
    return "" if most is None else f"; at most {kilonewtons(most.asked)} is asked"


def _broken(s: Suggestion) -> str:
    """The limits that a change breaks."""
    return joined([limit_words(h) for h in s.price.held if h.limit.name in s.breaks])


def limit_words(h: Held) -> str:
    """A value against its limit."""
    form = EDGES[h.limit.unit]
    asked = f"{h.asked * form.text_factor:g}{form.text if form.again is None else form.again}"
    return f"{h.limit.words} {value_text(h.value, h.limit.unit)} ({h.limit.way} {asked} asked)"


def _brief(event: Event, s: Suggestion) -> str:
    breaks = " (breaks a limit)" if s.breaks and s.advised else ""
    return f"{way_words(s.change)}: {verdict(event, s)}{breaks}"


def verdict(event: Event, s: Suggestion) -> str:
    """What a change does at an event: figure before and after, as run. Nothing is called gone that is still there."""
    if event.kind == "wheel_off":
        figures = f"{number(s.before, 2)} to {number(s.after, 2)} m"
        return (
            f"no wheel-off episode left ({figures})" if s.prevents else f"shortens wheel off from {figures}"
        ) + _worse(s)
    figures = f"{number(mm(s.before), 0)} to {number(mm(s.after), 0)} mm"
    if event.kind == "breakout":
        return (f"no breakout left (lifted {figures})" if s.prevents else f"lifts the disc less, {figures}") + _worse(s)
    return f"largest error {figures}, within the tolerance" if s.prevents else f"largest error {figures}"


def _worse(s: Suggestion) -> str:
    before, after = (number(mm(error), 0) for error in s.errors)
    return f", but the depth error there grows from {before} to {after} mm" if s.worsens else ""


def _idle(idle: Sequence[tuple[str, int]]) -> str:
    """Knobs and ways without help; both ways of one as one."""
    names = []
    for knob, way in idle:
        both = (knob, -way) in idle and knob in BOTH
        if not both:
            names.append(WAYS[knob, way])
        elif way < 0:
            names.append(BOTH[knob])
    return joined(names)
