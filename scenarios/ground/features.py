"""The kinds of `[[ground.features]]`, in the order in which a starter file and messages name them.

To add one: a file of its own in this folder, or a place in the file of its group, with a dataclass that says its
`kind`, its keys, what it does and its faults (see `scenarios.ground.feature`), and its name in `FEATURES` below. File
format, starter file, messages and the tests of every feature follow from that.
"""

from __future__ import annotations

from scenarios.ground.banks import Bank
from scenarios.ground.feature import Feature, Surface
from scenarios.ground.gilgai import Gilgai
from scenarios.ground.humps import Hollow, Hump
from scenarios.ground.patches import Patch, Patches
from scenarios.ground.ruts import Rut
from scenarios.ground.steps import Drop, Edge, Ramp
from scenarios.ground.stone_field import StoneField
from scenarios.ground.waves import Ridges, Sine

FEATURES: tuple[type[Feature], ...] = (
    Hump, Hollow, Sine, Gilgai, Drop, Bank, Ramp, Edge, Rut, Ridges, Patch, Patches, StoneField,
)  # fmt: skip
SURFACES = tuple(kind for kind in FEATURES if issubclass(kind, Surface))
