"""Elementary functions without branches or library calls, so that a compiled loop over rows can use vector units.

Accuracy against the C library is tested (tests/unit/sim/test_elementary.py): relative error below 4e-15 over the
ranges named, which is far below every other error of the model.
"""

from __future__ import annotations

import math

from llvmlite import ir
from numba.extending import overload

from sim.arithmetic.compiled import instruction, part
from sim.arithmetic.simd import WIDTH, LanesType, largest, select, smallest

_LOG2E = 1.4426950408889634
_LN2_HI = 6.93147180369123816490e-01
_LN2_LO = 1.90821492927058770002e-10
_ROOT_HALF = math.sqrt(0.5)
_SHIFT = 6755399441055744.0  # 1.5·2^52: adding it rounds to the nearest integer


def _kind(x):
    """Number of lanes of a type, 0 for a float."""
    return WIDTH if isinstance(x, LanesType) else 0


def _ints(width):
    return ir.VectorType(ir.IntType(64), width) if width else ir.IntType(64)


def _constant(width, value):
    kind = _ints(width)
    return ir.Constant(kind, [value] * width) if width else ir.Constant(kind, value)


@instruction
def _two_to_code(typingctx, shifted):
    """2^k from a float whose lowest mantissa bits hold the integer k (as x + 1.5·2^52 does)."""
    del typingctx
    width = _kind(shifted)

    def codegen(context, builder, signature, args):
        bits = builder.bitcast(args[0], _ints(width))
        bits = builder.shl(bits, _constant(width, 52))
        bits = builder.add(bits, _constant(width, 0x3FF0000000000000))
        return builder.bitcast(bits, args[0].type)

    return shifted(shifted), codegen


@instruction
def _exponent_code(typingctx, x):
    """k, as a float, of x = 2^k m with m in [√½, √2)."""
    del typingctx
    width = _kind(x)

    def codegen(context, builder, signature, args):
        bits = builder.bitcast(args[0], _ints(width))
        bits = builder.sub(bits, _constant(width, 0x3FE6A09E667F3BCD))
        return builder.sitofp(builder.ashr(bits, _constant(width, 52)), args[0].type)

    return x(x), codegen


@instruction
def _mantissa_code(typingctx, x):
    """m of x = 2^k m with m in [√½, √2)."""
    del typingctx
    width = _kind(x)

    def codegen(context, builder, signature, args):
        bits = builder.bitcast(args[0], _ints(width))
        k = builder.ashr(builder.sub(bits, _constant(width, 0x3FE6A09E667F3BCD)), _constant(width, 52))
        return builder.bitcast(builder.sub(bits, builder.shl(k, _constant(width, 52))), args[0].type)

    return x(x), codegen


def _two_to(shifted):
    """2^k; this body serves code that is not compiled."""
    return 2.0 ** int(shifted - _SHIFT)


def _exponent(x):
    """k of x = 2^k m; this body serves code that is not compiled."""
    m, k = math.frexp(x)  # m in [½, 1)
    return float(k - 1) if m < _ROOT_HALF else float(k)


def _mantissa(x):
    """m of x = 2^k m; this body serves code that is not compiled."""
    return x / 2.0 ** _exponent(x)


@overload(_two_to, jit_options={"forceinline": True})
def _(shifted):
    return lambda shifted: _two_to_code(shifted)


@overload(_exponent, jit_options={"forceinline": True})
def _(x):
    return lambda x: _exponent_code(x)


@overload(_mantissa, jit_options={"forceinline": True})
def _(x):
    return lambda x: _mantissa_code(x)


@part
def sincos(x):
    """Sine and cosine of an angle [rad], for |x| ≤ 1.6 (Taylor series to the 19th and 20th power)."""
    y = x * x
    y2 = y * y
    y4 = y2 * y2
    y8 = y4 * y4
    s = (-1.6666666666666666e-01 + 8.333333333333333e-03 * y) + (
        -1.984126984126984e-04 + 2.7557319223985893e-06 * y
    ) * y2
    s4 = (-2.505210838544172e-08 + 1.6059043836821613e-10 * y) + (
        -7.647163731819816e-13 + 2.8114572543455206e-15 * y
    ) * y2
    s = (s + s4 * y4) - 8.220635246624329e-18 * y8
    c = (-0.5 + 4.1666666666666664e-02 * y) + (-1.388888888888889e-03 + 2.48015873015873e-05 * y) * y2
    c4 = (-2.755731922398589e-07 + 2.08767569878681e-09 * y) + (
        -1.1470745597729725e-11 + 4.779477332387385e-14 * y
    ) * y2
    c = (c + c4 * y4) + (-1.5619206968586225e-16 + 4.110317623312165e-19 * y) * y8
    return x + x * (y * s), 1.0 + y * c


@part
def exponential(x):
    """e^x for −700 ≤ x ≤ 700 (clipped there): x = k ln 2 + r, series in r to the 13th power."""
    x = smallest(largest(x, -700.0), 700.0)
    shifted = x * _LOG2E + _SHIFT
    k = shifted - _SHIFT
    r = (x - k * _LN2_HI) - k * _LN2_LO
    r2 = r * r
    r4 = r2 * r2
    p = (0.5 + 1.6666666666666666e-01 * r) + (4.1666666666666664e-02 + 8.333333333333333e-03 * r) * r2
    p4 = (1.388888888888889e-03 + 1.984126984126984e-04 * r) + (2.48015873015873e-05 + 2.7557319223985893e-06 * r) * r2
    p8 = (2.755731922398589e-07 + 2.505210838544172e-08 * r) + (2.08767569878681e-09 + 1.6059043836821613e-10 * r) * r2
    p = 1.0 + (r + ((p + p4 * r4) + p8 * (r4 * r4)) * r2)
    return p * _two_to(shifted)


@part
def logarithm(x):
    """Natural logarithm of a positive, normal x: x = 2^k m, ln m = 2 artanh((m − 1)/(m + 1))."""
    k = _exponent(x)
    m = _mantissa(x)
    f = (m - 1.0) / (m + 1.0)
    y = f * f
    y2 = y * y
    y4 = y2 * y2
    p = (2.0 + 2.0 / 3.0 * y) + (2.0 / 5.0 + 2.0 / 7.0 * y) * y2
    p4 = (2.0 / 9.0 + 2.0 / 11.0 * y) + (2.0 / 13.0 + 2.0 / 15.0 * y) * y2
    p8 = (2.0 / 17.0 + 2.0 / 19.0 * y) + (2.0 / 21.0 + 2.0 / 23.0 * y) * y2
    p = (p + p4 * y4) + p8 * (y4 * y4)
    return k * _LN2_HI + (f * p + k * _LN2_LO)


@part
def power(x, m):
    """x^m for x ≥ 0 and m > 0; 0 for x ≤ 0 (below 1e-300 it counts as 0)."""
    safe = largest(x, 1e-300)
    return select(x > 1e-300, exponential(m * logarithm(safe)), 0.0)


@part
def hyperbolic_tangent(x):
    """tanh x = (1 − e)/(1 + e), e = exp(−2x); absolute error below 2e-16."""
    e = exponential(-2.0 * x)
    return (1.0 - e) / (1.0 + e)


assert math.isclose(_LN2_HI + _LN2_LO, math.log(2.0))
