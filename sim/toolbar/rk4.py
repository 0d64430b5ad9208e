"""The classical Runge–Kutta steps of order 4 for one degree of freedom, y″ = a(x, y, y′) [m or rad, s].

Where the accelerations are looked for in a step h, and what comes of them; the toolbar that rolls is marched by these.
"""

from __future__ import annotations

from sim.arithmetic.compiled import part


@part
def second(y, v, a1, half):
    """Place and rate half a step on, by the acceleration a1 at its start; half = h/2."""
    return y + half * v, v + half * a1


@part
def third(y, v, a1, a2, half):
    """The same by the acceleration a2 found there."""
    return y + half * (v + half * a1), v + half * a2


@part
def fourth(y, v, a2, a3, half, step):
    """Place and rate a whole step on, by the acceleration a3 found at the third place."""
    return y + step * (v + half * a2), v + step * a3


@part
def after(y, v, a1, a2, a3, a4, half, step):
    """Place and rate at the end of the step, by all four."""
    v2, v3, v4 = v + half * a1, v + half * a2, v + step * a3
    return (
        y + step / 6.0 * (v + 2.0 * (v2 + v3) + v4),
        v + step / 6.0 * (a1 + 2.0 * (a2 + a3) + a4),
    )
