"""Checks that need several keys together. Each gives faults that name the key to change, `file` in front."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from scenarios.depth_linkage import linkage_notes
from scenarios.format.assembly import Assembly
from scenarios.format.errors import fault
from scenarios.ground.feature import edge_text
from scenarios.ground.profile import Profile
from scenarios.ground.spec_ground import NO_ROUGHNESS
from scenarios.spec import NOT_ON_FEATURE, Ground, Limits, Roughness
from sim.bushes import GROUPS
from sim.unit import Cylinder, PressWheel, Settings, Unit

LEAST_MEASURED = 5.0  # [m]
LONGEST = 20_000.0  # [m]
LEAST_TURNING = 1e-9  # moment of inertia of the press arm about its pivot [kg m²]: of a steel ball 5 mm across
SHORTEST_CYLINDER = 0.01  # between its pins, wherever the arm stands [m]
LEAST_PUSH = 0.01  # share of the cylinder's force that presses the unit down, at the nominal arm angle
BEYOND_STOPS = 0.15  # that the arm is pressed into its stops at the most: a march ends before [rad]


def check_together(found: Assembly, unit: Unit, settings: Settings, limits: Limits) -> None:
    """The checks that every kind of file has in common: faults, and what is only warned of, are noted."""
    file = str(found.path)
    found.check({"unit"}, lambda: unit_faults(unit, file))
    found.check({"settings", "unit"}, lambda: settings_faults(settings, unit, file))
    found.check({"limits"}, lambda: limits_faults(limits, file))
    found.check({"limits", "settings"}, lambda: depth_faults(settings, limits, file))
    if not found.texts:
        found.notes += linkage_notes(unit, settings)


def unit_faults(unit: Unit, file: str) -> Iterator[str]:
    """Lengths and angles of a unit that cannot go together."""
    links = unit.main_links
    where = f"{file}: unit.main_links"
    if not links.stop_down < links.angle_nominal < links.stop_up:
        low, high = (edge_text(v, "deg") for v in (links.stop_down, links.stop_up))
        given = f"given {edge_text(links.angle_nominal, 'deg')}"
        yield fault(f"{where}.angle_nominal_deg", given, f"between the stops, {low} to {high}°", "0")
    for name, value in (("unit.main_links.stop_arm_m", links.stop_arm), ("unit.cylinder.arm_m", unit.cylinder.arm)):
        if value > links.length:
            yield fault(
                f"{file}: {name}",
                f"given {value:g}",
                f"up to the length of the link, {links.length:g} m",
                f"{links.length / 2:g}",
            )
    yield from _press_arm_faults(unit, file)
    yield from _cylinder_faults(unit, file)
    yield from _pin_faults(unit, file)
    if unit.toolbar.axle_front + unit.toolbar.axle_rear < 0.5:
        total = unit.toolbar.axle_front + unit.toolbar.axle_rear
        yield fault(
            f"{file}: unit.toolbar.axle_front_m and axle_rear_m",
            f"axles {total:g} m apart",
            "at least 0.5 m apart",
            "2.2 m each (the default)",
        )


def _press_arm_faults(unit: Unit, file: str) -> Iterator[str]:
    """A press arm that nothing holds back from turning: its equation of motion would have no mass."""
    press, usual = unit.press_wheel, PressWheel()
    turning = press.arm_inertia + press.arm_mass * press.arm_centre**2
    if turning < LEAST_TURNING:
        yield fault(
            f"{file}: unit.press_wheel.arm_inertia_kg_m2 and arm_centre_m",
            f"given {press.arm_inertia:g} and {press.arm_centre:g}, {turning:.2g} kg m² about the pivot",
            f"at least {LEAST_TURNING:g} kg m² together",
            f"{usual.arm_inertia:g} and {usual.arm_centre:g} (the defaults)",
        )


def _pin_faults(unit: Unit, file: str) -> Iterator[str]:
    """Bushes of one pin that would overlap, and a pin that is described twice."""
    where, named = f"{file}: unit.pins", [own.pin for own in unit.pins.own]
    for again in sorted({pin for pin in named if named.count(pin) > 1}):
        yield fault(f"{where}.own", f'"{again}" {named.count(again)} times', "each pin once", "one table for it")
    at = {f"{group}.span_mm and length_mm": getattr(unit.pins, group) for group in GROUPS}
    at |= {f'own, pin = "{pin}": span_mm and length_mm': unit.pins.of(pin) for pin in dict.fromkeys(named)}
    for key, pin in at.items():
        if 0.0 < pin.span < pin.length:
            given = f"two bushes of {edge_text(pin.length, 'mm')} mm with middles {edge_text(pin.span, 'mm')} mm apart"
            allowed = "middles as far apart as the bushes are long, or more; span_mm = 0 for one bush alone"
            yield fault(f"{where}.{key}", given, allowed, f"span_mm = {edge_text(3.0 * pin.length, 'mm')}")


def _cylinder_faults(unit: Unit, file: str) -> Iterator[str]:
    """Pins of the cylinder that come upon each other on the arm's way, or from which it does not push the unit down."""
    from sim.hydraulics.cylinder import cylinder_length, lever  # noqa: PLC0415 (the compiler: half a second)

    links, frame = unit.main_links, unit.cylinder.frame
    where, usual = f"{file}: unit.cylinder.frame_m and arm_m", Cylinder()
    hint = f"[{usual.frame[0]:g}, {usual.frame[1]:g}] and {usual.arm:g} (the defaults)"
    low, high = links.stop_down - BEYOND_STOPS, links.stop_up + BEYOND_STOPS
    towards = math.atan2(frame[1], -frame[0])  # arm angle at which the pins lie nearest
    shortest = min(cylinder_length(unit, at) for at in (low, high, min(max(towards, low), high)))
    if shortest < SHORTEST_CYLINDER:
        given = f"pins that come within {shortest * 1e3:.2g} mm of each other"
        yield fault(where, given, f"at least {SHORTEST_CYLINDER * 1e3:g} mm apart all over the arm's travel", hint)
        return
    push = lever(unit, links.angle_nominal).ratio
    if push < LEAST_PUSH:
        way = "lifts" if push < -LEAST_PUSH else "hardly moves"
        allowed = f"pins from which {LEAST_PUSH:.0%} of its force or more press it down (frame_m above the arm's pin)"
        yield fault(where, f"a cylinder that {way} the unit at the nominal arm angle", allowed, hint)


def settings_faults(settings: Settings, unit: Unit, file: str) -> Iterator[str]:
    """Settings that the unit cannot take."""
    if settings.set_depth > 0.8 * unit.disc.radius:
        yield fault(
            f"{file}: settings.set_depth_mm",
            f"given {edge_text(settings.set_depth, 'mm')}",
            f"up to 0.8 of the disc's radius, {edge_text(0.8 * unit.disc.radius, 'mm')} mm",
            "40 (the default)",
        )


def limits_faults(limits: Limits, file: str) -> Iterator[str]:
    """Limits that nothing can meet."""
    if limits.gauge_load_min > limits.gauge_load_max:
        yield fault(
            f"{file}: limits.gauge_load_min_N",
            f"given {limits.gauge_load_min:g}",
            f"up to gauge_load_max_N, {limits.gauge_load_max:g} N",
            "200 (the default)",
        )


def depth_faults(settings: Settings, limits: Limits, file: str) -> Iterator[str]:
    """A set depth at which the crop may not be sown by the file's own limits."""
    low, high = limits.set_depth_min, limits.set_depth_max
    if low is not None and high is not None and low > high:
        yield fault(
            f"{file}: limits.set_depth_min_mm",
            f"given {edge_text(low, 'mm')}",
            f"up to set_depth_max_mm, {edge_text(high, 'mm')} mm",
            edge_text(high, "mm"),
        )
    elif not limits.sows_at(settings.set_depth):
        ends = [f"{way} {edge_text(end, 'mm')} mm" for way, end in (("at least", low), ("at most", high)) if end]
        nearest = low if low is not None and settings.set_depth < low else high
        yield fault(
            f"{file}: settings.set_depth_mm",
            f"given {edge_text(settings.set_depth, 'mm')}",
            f"{' and '.join(ends)}, the depths at which the crop may be sown (set_depth_min_mm, set_depth_max_mm in "
            "[limits])",
            f"{edge_text(nearest or 0.0, 'mm')}, or another range",
        )


def ground_faults(ground: Ground, stretch: tuple[float, float], file: str) -> Iterator[str]:
    """Faults of single features, each told by itself (`Feature.faults`), and of the roughness."""
    for i, feature in enumerate(ground.features):
        yield from feature.faults(f"{file}: ground.features[{i}]", stretch)
    yield from roughness_faults(ground.roughness, file)


def meant_flat(rough: Roughness | None) -> bool:
    """Whether a file says that there is no roughness; beside gd_n0_m3 that is a fault, told elsewhere."""
    return rough is not None and rough.letter == NO_ROUGHNESS and rough.gd_n0 is None


def flat_note(shapes: bool) -> str:
    """What is told of made-up ground in whose file nothing is said of roughness; shapes: whether it has some."""
    flat = "perfectly flat between its features" if shapes else "perfectly flat, a bench floor"
    return (
        f'without [ground.roughness] the ground is {flat}; no field is: roughness = {{ class = "D" }} in [ground] lays '
        f'a rough one, class = "{NO_ROUGHNESS}" says that flat is meant'
    )


def roughness_faults(rough: Roughness | None, file: str) -> Iterator[str]:
    """A roughness given in two ways or in none."""
    if rough is not None and (rough.letter is None) == (rough.gd_n0 is None):
        given = "both class and gd_n0_m3" if rough.letter else "neither class nor gd_n0_m3"
        yield fault(f"{file}: ground.roughness", given, "one of the two", 'class = "D"')


def profile_faults(profile: Profile) -> Iterator[str]:
    """A profile too short to measure anything on, or too long for one run."""
    total = float(profile.distance[-1] - profile.distance[0])
    if not LEAST_MEASURED <= total <= LONGEST:
        yield fault(
            str(profile.path),
            f"{total:.6g} m of ground",
            f"{LEAST_MEASURED:g} to {LONGEST:g} m from the first point to the last",
            "a longer profile" if total < LEAST_MEASURED else "a part of it",
        )


def feature_limit_faults(given: Mapping[str, object], file: str) -> Iterator[str]:
    """Limits of a single feature in a paddock's own [limits], where nothing would be held to them."""
    for key in given:
        if key.startswith("feature_"):
            yield fault(
                f"{file}: limits.{key}",
                "given for a paddock, which is judged by shares of the way",
                f"{' and '.join(NOT_ON_FEATURE)}; {key} holds in a scenario whose ground is one feature",
                "leave it out, or put the feature into a scenario (rowbench new) and its limit there",
            )
