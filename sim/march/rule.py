"""The Runge–Kutta rule of a step: how many evaluations it takes, where each stands, and what each counts for.

A blow on a stone or a stop is half a swing in five steps and is followed by the classical rule of order 4. All else is
smooth on the scale of a step, and what error remains comes from the ground between its samples: Kutta's rule of order 3
(Z. Math. Phys. 46, 1901; from memory, its order is tested) has the same there and saves an evaluation. Parts of a step
that is cut are short enough for it too. Both are Simpson's rule in what hangs on time alone.

    in contact   0 · ½ · ½ · 1, weights 1 2 2 1, each from y + h·reach·(slope of the stage before)
    else         0 · ½ · 1, weights 1 4 1, the last from y + h·(2·slope of the second − slope of the first)

`contact` is a truth value, or a Mask of eight rows; where some are in contact and others are not, a fourth stage counts
for the former only.
"""

from __future__ import annotations

from sim.arithmetic.compiled import part
from sim.arithmetic.simd import select
from sim.mechanism.kinematics import State


@part
def ahead(y, r, h):
    """y + h·r."""
    return State(
        y.th + h * r.th, y.om + h * r.om, y.ps + h * r.ps, y.ops + h * r.ops,
        y.dg + h * r.dg, y.dp + h * r.dp, y.tg + h * r.tg, y.vo + h * r.vo,
    )  # fmt: skip


@part
def stages(contact):
    """Evaluations that a step takes."""
    return 4 if contact else 3


@part
def reach(stage, contact):
    """Share of the step at which a stage is evaluated."""
    return select(
        contact,
        0.0 if stage == 0 else (1.0 if stage == 3 else 0.5),
        0.0 if stage == 0 else (0.5 if stage == 1 else 1.0),
    )


@part
def weight(stage, contact):
    """Weight of a stage in the step, times six."""
    return select(contact, 2.0 if 0 < stage < 3 else 1.0, 4.0 if stage == 1 else (0.0 if stage == 3 else 1.0))


@part
def trial(y, slope, begun, stage, contact, h):
    """State at which a stage after the first is evaluated; slope: of the stage before, begun: of the first."""
    last = select(contact, 1.0 if stage == 3 else 0.5, 0.5 if stage == 1 else (2.0 if stage == 2 else 0.0))
    first = select(contact, 0.0, -1.0 if stage == 2 else 0.0)
    return ahead(ahead(y, slope, h * last), begun, h * first)
