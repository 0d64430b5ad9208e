"""Two units for tests of the mechanism: the made-up one, and one with no equal or parallel lengths in it."""

from __future__ import annotations

import math
from dataclasses import replace

from sim.unit import Unit

TRUE = Unit()
CROOKED = replace(
    TRUE,
    main_links=replace(TRUE.main_links, length=0.53, spacing=0.24, mass=12.0, angle_nominal=0.05),
    depth_linkage=replace(
        TRUE.depth_linkage, crank_pivot=(0.012, 0.015), bell_pivot=(-0.02, 0.01), bell_first=0.13, bell_second=0.10,
        bell_angle=math.radians(80), rod=0.545, turnbuckle=0.53, rod_mass=3.0, turnbuckle_mass=2.0,
    ),
    disc=replace(TRUE.disc, hub=(-0.21, -0.54)),
)  # fmt: skip
