"""Pins and their bushes: sizes, material, lubrication, and what wear is reckoned with. All values assumed.

Pins of a group are alike unless one is named in `own`. The names of the single pins are those of `sim.record.PINS`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, fields
from typing import Any

from sim.described import quantity, word

MATERIALS = ("cast_bronze", "steel", "lined", "sintered_bronze", "porous_bronze", "sintered_steel")
LUBRICATIONS = ("greased", "dry", "starved")
GROUPS = {
    "main": ("main_upper_front", "main_upper_rear", "main_lower_front", "main_lower_rear"),
    "cylinder": ("cylinder_frame", "cylinder_arm"),
    "linkage": ("crank", "rod_front", "rod_rear", "bell_crank", "turnbuckle_front", "turnbuckle_rear"),
    "gauge_arm": ("gauge_arm",),
    "press_arm": ("press_arm",),
}
"""Pins that are alike, by the name of their table."""
GROUP_OF = {pin: group for group, pins in GROUPS.items() for pin in pins}
SIZES = {
    "diameter": (0.005, 0.15, "diameter of the pin", 0.03),
    "span": (0.0, 1.0, "distance between the middles of its two bushes; 0: one bush alone", 0.12),
    "length": (0.005, 0.3, "length of each bush", 0.03),
}
MATERIAL = "what the bush is made of"
LUBRICATION = "greased as often as greasings_a_year says; dry: made to run so; starved: greased once and then never"


def _size(name: str, default: float) -> Any:
    low, high, doc, _ = SIZES[name]
    return quantity(default, "m", low, high, doc, edge="mm")


def _own_size(name: str) -> Any:
    low, high, doc, example = SIZES[name]
    meta = {"unit": "m", "low": low, "high": high, "doc": f"{doc}, where it is not as its group",
            "edge": "mm", "source": "", "example": example}  # fmt: skip
    return field(default=None, metadata=meta)


def _own_word(choices: tuple[str, ...], doc: str) -> Any:
    meta = {"choices": choices, "doc": doc, "source": "", "example": choices[0]}
    return field(default=None, metadata=meta)


@dataclass(frozen=True)
class Pin:
    """One pin and its bushes."""

    diameter: float = _size("diameter", 0.030)
    span: float = _size("span", 0.120)
    length: float = _size("length", 0.030)
    material: str = word("cast_bronze", MATERIALS, MATERIAL)
    lubrication: str = word("greased", LUBRICATIONS, LUBRICATION)

    @property
    def bushes(self) -> int:
        """How many bushes share the load: 2, or 1 where there is no span."""
        return 2 if self.span > 0.0 else 1


@dataclass(frozen=True)
class MainPins(Pin):
    """The four pins of the main links, all alike."""


@dataclass(frozen=True)
class CylinderPins(Pin):
    """Both pins of the cylinder, each with one bush in its eye."""

    diameter: float = _size("diameter", 0.025)
    span: float = _size("span", 0.0)
    material: str = word("steel", MATERIALS, MATERIAL)


@dataclass(frozen=True)
class LinkagePins(Pin):
    """The six pins of the depth linkage, each with one bush."""

    diameter: float = _size("diameter", 0.025)
    span: float = _size("span", 0.0)
    length: float = _size("length", 0.025)


@dataclass(frozen=True)
class GaugeArmPin(Pin):
    """The pivot of the gauge arm."""

    span: float = _size("span", 0.090)


@dataclass(frozen=True)
class PressArmPin(Pin):
    """The pivot of the press arm."""

    diameter: float = _size("diameter", 0.025)
    span: float = _size("span", 0.080)
    length: float = _size("length", 0.025)


@dataclass(frozen=True)
class OwnPin:
    """One pin that differs from its group."""

    pin: str = field(
        metadata={"choices": tuple(GROUP_OF), "doc": "which pin", "source": "", "needed": True,
                  "example": "main_lower_front"}
    )  # fmt: skip
    diameter: float | None = _own_size("diameter")
    span: float | None = _own_size("span")
    length: float | None = _own_size("length")
    material: str | None = _own_word(MATERIALS, f"{MATERIAL}, where it is not as its group")
    lubrication: str | None = _own_word(LUBRICATIONS, "lubrication, where it is not as its group's")


@dataclass(frozen=True)
class Pins:
    """Pins and bushes: what bush pressure, wear and life are reckoned with; the crossing does not feel it."""

    greasings_a_year: float = quantity(3.0, "1", 0.0, 1000.0, "greasings, evenly spread over the year's work")
    grease_lasts: float = quantity(
        50.0 * 3600.0,
        "s",
        0.0,
        3.6e7,
        "work at the reference speed over which one greasing lubricates its bush",
        edge="h",
    )
    worn_out_play: float = quantity(
        0.001, "m", 1e-5, 0.02, "play added by wear at which a bush counts as worn out", edge="mm"
    )
    pin_strength: float = quantity(
        350e6, "Pa", 5e7, 2e9, "yield strength of the pins", edge="MPa",
        source="assumed; that of medium carbon steel, value from memory",
    )  # fmt: skip
    upper_share: float = quantity(
        0.5, "1", 0.0, 1.0, "share of side force and couples that the upper main pins take, by their stiffness"
    )
    side_slope: float = quantity(
        0.0, "rad", 0.0, math.radians(20), "side slope that loads are asked for, whichever side is down", edge="deg"
    )
    main: MainPins = field(default_factory=MainPins)
    cylinder: CylinderPins = field(default_factory=CylinderPins)
    linkage: LinkagePins = field(default_factory=LinkagePins)
    gauge_arm: GaugeArmPin = field(default_factory=GaugeArmPin)
    press_arm: PressArmPin = field(default_factory=PressArmPin)
    own: tuple[OwnPin, ...] = field(default=(), metadata={"kinds": (OwnPin,)})

    def of(self, name: str) -> Pin:
        """The pin of a name of `sim.record.PINS`: its group's, with what is its own."""
        shared = getattr(self, GROUP_OF[name])
        values = {item.name: getattr(shared, item.name) for item in fields(Pin)}
        for own in self.own:
            if own.pin == name:
                values |= {key: v for key in values if (v := getattr(own, key)) is not None}
        return Pin(**values)
