"""A paddock file to start from (`scenarios.format.starters`)."""

from __future__ import annotations

from scenarios.format.starters import Starter, write
from scenarios.paddock.tables import PADDOCK

_FIRST = ("machine", "passes", "ground", "stones", "zones", "measured", "search", "keep", "settings", "soil", "limits")

PADDOCK_STARTER = Starter(
    head="""\
# A paddock for rowbench: a machine, its passes, the ground under them, and the settings that are tried.
#
# Only `title` and the length of the passes (or measured ground) have to be there. Every other line below holds the
# value that is used without it: delete what you leave as it is. One does not: without `class` in [ground.roughness]
# the ground is perfectly flat, as a bench floor is and no field. A line that begins with # and a key is switched off:
# take the # away to use it. Beside each key: meaning · what is allowed · default · where the value comes from.
# Places are [x, y] in m: x along the passes, y to the left of the first one's direction, from its right-hand edge.
# Places across the machine count from its middle, left positive.
#
# Stored gas and oil under pressure injure, and so do raised machines: relieve pressure and support the machine
# before work, charge accumulators with dry nitrogen only, follow local codes and leave it to licensed people.
""",
    root=PADDOCK,
    order=(*_FIRST, *(name for name in PADDOCK.tables if name not in _FIRST)),
    used={("passes", "length_m"): "300", ("ground", "roughness", "class"): '"D"'},
    off=("lines", "grid", "surface", "uncertain"),  # measured ground, and what readings left in doubt
    left_out="feature_",  # limits of a single feature
    brief=True,
)


def paddock_starter(title: str) -> str:
    """Text of a paddock file with every key; it loads as it stands: four passes of 300 m on class D."""
    return write(PADDOCK_STARTER, title)
