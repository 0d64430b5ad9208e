"""What every feature of the ground has: a kind, keys, faults, and what it does to surface, strength or stones.

A feature is a frozen dataclass (SI) whose fields are the keys of its `[[ground.features]]` table. Distances count
along the row. A feature that a line in the field draws (bank, rut, ridges) is described square to that line; `angle` is
the angle between the line and the direction of travel, so that the row meets every length of it divided by
sin(angle): 90° is a square crossing, a small angle a long one.

Shapes of the surface are `Surface`s; patches of other strength stand in `scenarios.ground.patches`, fields of stones
in `scenarios.ground.stone_field`. The kinds there are, in order: `scenarios.ground.features`.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Any, ClassVar

from scenarios.format.described import needed, optional
from scenarios.format.edge_units import number_text, to_edge
from scenarios.format.errors import fault
from scenarios.ground.curves import Values
from sim.unit import quantity

Stretch = tuple[float, float]
FAR = 1e6  # places along the row lie within ± this [m]


class Feature:
    """One feature of the ground."""

    kind: ClassVar[str]  # the word for it in a file

    def faults(self, where: str, stretch: Stretch) -> Iterator[str]:
        """What is wrong with its keys together, or with its place; `where` names it, `stretch` is measured [m]."""
        del where, stretch
        yield from ()


class Surface(Feature, ABC):
    """A feature that adds to the height of the ground."""

    @abstractmethod
    def heights(self, x: Values, seed: int, number: int) -> Values:
        """Height [m] that it adds at distances x [m], shape of x.

        Random ones draw from a stream of (seed, number): `number` tells several of one kind apart (`numbered`).
        """


class Placed(Surface):
    """A shape that has to lie on the measured stretch, by the place `at`."""

    at: float

    def faults(self, where: str, stretch: Stretch) -> Iterator[str]:
        if not stretch[0] <= self.at <= stretch[1]:
            yield fault(f"{where}.at_m", f"given {self.at:g}", on_stretch(stretch), f"{sum(stretch) / 2:g}")


def numbered(features: Iterable[Feature]) -> Iterator[tuple[Feature, int]]:
    """Features with their number among those of their kind: what their random numbers depend on.

    A feature of another kind, wherever it stands in the list, therefore changes nothing.
    """
    seen: Counter[type] = Counter()
    for feature in features:
        yield feature, seen[type(feature)]
        seen[type(feature)] += 1


def distance(doc: str, *, example: float) -> Any:
    """A place along the row [m] that has to be given."""
    return needed("m", -FAR, FAR, doc, example=example)


def begin(doc: str) -> Any:
    """Where something begins along the row [m], None: everywhere."""
    return optional("m", -FAR, FAR, f"distance at which {doc}; left out: everywhere", example=20.0)


def finish(doc: str) -> Any:
    """Where something ends along the row [m], None: never."""
    return optional("m", -FAR, FAR, f"distance at which {doc}; left out: never", example=60.0)


def crossing_angle(doc: str) -> Any:
    """The angle at which a row crosses a line in the field [rad]."""
    low = math.radians(2.0)
    return quantity(math.radians(90.0), "rad", low, math.radians(90.0), doc, edge="deg")


def ends_faults(start: float | None, end: float | None, where: str, stretch: Stretch) -> Iterator[str]:
    """Something that ends before it starts, or of which nothing lies on the stretch; None: no end there."""
    first, last = -math.inf if start is None else start, math.inf if end is None else end
    middle = f"{sum(stretch) / 2:g}"
    if first >= last:
        hint = "a later end_m or an earlier start_m"
        yield fault(f"{where}.end_m", f"given {last:g}", f"beyond start_m, {first:g} m", hint)
    elif first > stretch[1]:
        yield fault(f"{where}.start_m", f"given {first:g}", f"some of it {on_stretch(stretch)}", middle)
    elif last < stretch[0]:
        yield fault(f"{where}.end_m", f"given {last:g}", f"some of it {on_stretch(stretch)}", middle)


def on_stretch(stretch: Stretch) -> str:
    """Where a feature may lie, in words."""
    return f"on the measured stretch, {stretch[0]:g} to {stretch[1]:g} m"


def edge_text(value: float, edge: str) -> str:
    """A value [SI] in its edge unit, six figures."""
    return number_text(float(f"{to_edge(value, edge):.6g}"))
