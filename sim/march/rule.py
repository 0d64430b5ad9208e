"""The Runge–Kutta rule of a step: how many evaluations it takes, where each stands, and what each counts for.

Over ground, what error remains comes from the ground between its samples. Three instants of a step are therefore read,
its two ends and its middle, and weighed as Simpson's rule does; all else is how few evaluations that takes.

    in contact   0 · ½ · ½ · 1, weights 1 2 2 1, each from y + h·reach·(slope of the stage before)
    begun anew   0 · ½ · 1, weights 1 4 1, the last from y + h·(2·slope of the second − slope of the first)
    linked       0 · ½ · 1, weights 1 4 1, the last one being the first of the next step

A blow on a stone or a stop is half a swing in five steps and is followed by the classical rule of order 4. A step
behind such a contact, and the parts of one that is cut, begin anew: Kutta's rule of order 3 (Z. Math. Phys. 46, 1901;
from memory, its order is tested). All other steps are linked: the slope at the middle of the step before, f₋, is known
too, and both states at which slopes are read are foreseen with an error of h³ from what is known by then. With y at the
start of the step, ŷ where its slope f₀ was read (as foreseen in the step before), and f₁ and f₂ read half a step and a
step later:

    f₁ at   y + ¾·h·f₀ − ¼·h·f₋ + 7/4·(ŷ − y)        (Adams–Bashforth over half a step, begun off y by a part of ŷ − y)
    f₂ at   y + h·(15/16·f₁ + 1/8·f₀ − 1/16·f₋)      (the middle's slope, less a part of what it is bent by)
    then    y + h·(f₀ + 4·f₁ + f₂)/6, of order 3; f₂ is f₀ of the next step

7/4 and 1/16 are ours, not published. With 0 in their places a decay grows from h|λ| = 1.09 on; with them from 2.34, at
0.8 to 1.8 a step leaves 0.4 of it, and a swing does not grow up to 1.17 (tests/unit/sim/march/test_rule.py).

`contact` and `linked` are truth values, or Masks of eight rows; a stage that only some rows take counts for no other.
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
def either(c, a, b):
    """State a where c, else b."""
    return State(
        select(c, a.th, b.th), select(c, a.om, b.om), select(c, a.ps, b.ps), select(c, a.ops, b.ops),
        select(c, a.dg, b.dg), select(c, a.dp, b.dp), select(c, a.tg, b.tg), select(c, a.vo, b.vo),
    )  # fmt: skip


@part
def stages(contact, linked):
    """Evaluations that a step takes, without the one at its end that is the first of the next."""
    return 4 if contact else (2 if linked else 3)


@part
def reach(stage, contact):
    """Share of the step at which a stage is evaluated."""
    return select(
        contact,
        0.0 if stage == 0 else (1.0 if stage == 3 else 0.5),
        0.0 if stage == 0 else (0.5 if stage == 1 else 1.0),
    )


@part
def weight(stage, contact, linked):
    """Weight of a stage in the step, times six; a linked step has one more, of weight 1, at its end."""
    simpson = select(
        linked,
        1.0 if stage == 0 else (4.0 if stage == 1 else 0.0),
        1.0 if stage == 0 else (4.0 if stage == 1 else (1.0 if stage == 2 else 0.0)),
    )
    return select(contact, 2.0 if 0 < stage < 3 else 1.0, simpson)


@part
def trial(y, slope, begun, stage, contact, h):
    """State at which a stage after the first is evaluated; slope: of the stage before, begun: of the first."""
    last = select(contact, 1.0 if stage == 3 else 0.5, 0.5 if stage == 1 else (2.0 if stage == 2 else 0.0))
    first = select(contact, 0.0, -1.0 if stage == 2 else 0.0)
    return ahead(ahead(y, slope, h * last), begun, h * first)


@part
def middle(y, seen, begun, before, h):
    """State half a linked step on; seen: ŷ, begun: f₀, before: f₋. With ŷ = y and f₋ = f₀ it is y + ½·h·f₀."""
    return ahead(ahead(ahead(ahead(y, seen, 1.75), y, -1.75), begun, 0.75 * h), before, -0.25 * h)


@part
def foreseen(y, begun, before, mid, h):
    """State at the end of a linked step at which its last slope is read; mid: f₁."""
    return ahead(ahead(ahead(y, mid, 0.9375 * h), begun, 0.125 * h), before, -0.0625 * h)
