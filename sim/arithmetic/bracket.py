"""Where a function of one number is zero between two places: the secant in a bracket, narrowed by the Illinois rule.

Compiled loops inline the two parts; `zero_between` takes functions that are not compiled and halves the bracket every
fourth step, so that flat and many-fold zeros are found too. The library's own root finder loads with a hundred others,
a third of a second that every command would wait.
"""

from __future__ import annotations

from collections.abc import Callable

from sim.arithmetic.compiled import part

MOST_STEPS = 200


def _middle(low, f_low, high, f_high):
    """Where the secant of a bracket crosses zero; its middle where that leaves the bracket."""
    middle = (low * f_high - high * f_low) / (f_high - f_low)
    return middle if low < middle < high else 0.5 * (low + high)


def _narrowed(middle, f, low, f_low, high, f_high, side):
    """The bracket with one end moved to `middle` → low, f_low, high, f_high, side (1: low moved, −1: high).

    Illinois rule: an end that stays twice has its value halved, so that the secant comes to it.
    """
    if (f > 0.0) == (f_low > 0.0):
        return middle, f, high, f_high * 0.5 if side == 1 else f_high, 1
    return low, f_low * 0.5 if side == -1 else f_low, middle, f, -1


middle_of = part(_middle)
narrowed = part(_narrowed)


def zero_between(function: Callable[[float], float], one: float, other: float) -> float:
    """Where `function` is zero between two places at which its signs differ, to rounding.

    >>> zero_between(lambda x: x * x - 2.0, 0.0, 2.0)
    1.414213562373095
    """
    low, high = min(one, other), max(one, other)
    f_low, f_high = function(low), function(high)
    if f_low == 0.0 or f_high == 0.0:
        return low if f_low == 0.0 else high
    side = 0
    for step in range(MOST_STEPS):
        middle = 0.5 * (low + high) if step % 4 == 3 else _middle(low, f_low, high, f_high)
        if middle in (low, high) or high - low < 1e-15 * abs(middle):
            break
        f = function(middle)
        if f == 0.0:
            return middle
        low, f_low, high, f_high, side = _narrowed(middle, f, low, f_low, high, f_high, side)
    return 0.5 * (low + high)
