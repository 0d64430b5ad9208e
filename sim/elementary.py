"""Elementary functions without branches or library calls, so that a compiled loop over rows can use vector units.

Accuracy against the C library is tested (tests/unit/sim/test_elementary.py): relative error below 4e-15 over the
ranges named, which is far below every other error of the model.
"""

from __future__ import annotations

import math

import numpy as np
from llvmlite import ir
from numba import njit, types
from numba.extending import intrinsic

_LOG2E = 1.4426950408889634
_LN2_HI = 6.93147180369123816490e-01
_LN2_LO = 1.90821492927058770002e-10
_SHIFT = 6755399441055744.0  # 1.5·2^52: adding it rounds to the nearest integer


@intrinsic
def _bits_of(typingctx, x):
    """Bit pattern of a float64 as int64."""
    del typingctx, x

    def codegen(context, builder, signature, args):
        return builder.bitcast(args[0], ir.IntType(64))

    return types.int64(types.float64), codegen


@intrinsic
def _float_of(typingctx, bits):
    """Float64 with this bit pattern."""
    del typingctx, bits

    def codegen(context, builder, signature, args):
        return builder.bitcast(args[0], ir.DoubleType())

    return types.float64(types.int64), codegen


@njit(inline="never", forceinline=True, error_model="numpy")
def sincos(x):
    """Sine and cosine of an angle [rad], for |x| ≤ 1.6 (Taylor series to the 19th and 20th power)."""
    y = x * x
    s = -8.220635246624329e-18
    s = s * y + 2.8114572543455206e-15
    s = s * y - 7.647163731819816e-13
    s = s * y + 1.6059043836821613e-10
    s = s * y - 2.505210838544172e-08
    s = s * y + 2.7557319223985893e-06
    s = s * y - 1.984126984126984e-04
    s = s * y + 8.333333333333333e-03
    s = s * y - 1.6666666666666666e-01
    c = 4.110317623312165e-19
    c = c * y - 1.5619206968586225e-16
    c = c * y + 4.779477332387385e-14
    c = c * y - 1.1470745597729725e-11
    c = c * y + 2.08767569878681e-09
    c = c * y - 2.755731922398589e-07
    c = c * y + 2.48015873015873e-05
    c = c * y - 1.3888888888888889e-03
    c = c * y + 4.1666666666666664e-02
    c = c * y - 0.5
    return x + x * (y * s), 1.0 + y * c


@njit(inline="never", forceinline=True, error_model="numpy")
def exponential(x):
    """e^x for −700 ≤ x ≤ 700 (clipped there): x = k ln 2 + r, series in r to the 13th power."""
    x = min(max(x, -700.0), 700.0)
    shifted = x * _LOG2E + _SHIFT
    k = shifted - _SHIFT
    r = (x - k * _LN2_HI) - k * _LN2_LO
    p = 1.6059043836821613e-10
    p = p * r + 2.08767569878681e-09
    p = p * r + 2.505210838544172e-08
    p = p * r + 2.755731922398589e-07
    p = p * r + 2.7557319223985893e-06
    p = p * r + 2.48015873015873e-05
    p = p * r + 1.984126984126984e-04
    p = p * r + 1.388888888888889e-03
    p = p * r + 8.333333333333333e-03
    p = p * r + 4.1666666666666664e-02
    p = p * r + 1.6666666666666666e-01
    p = p * r + 0.5
    p = p * r + 1.0
    p = p * r + 1.0
    two_k = _float_of((_bits_of(shifted) << np.int64(52)) + np.int64(0x3FF0000000000000))
    return p * two_k


@njit(inline="never", forceinline=True, error_model="numpy")
def logarithm(x):
    """Natural logarithm of a positive, normal x: x = 2^k m, ln m = 2 artanh((m − 1)/(m + 1))."""
    bits = _bits_of(x)
    # choose k so that m lies in [√½, √2): subtract the bits of √½ first
    k_bits = (bits - np.int64(0x3FE6A09E667F3BCD)) >> np.int64(52)
    m = _float_of(bits - (k_bits << np.int64(52)))
    k = float(k_bits)
    f = (m - 1.0) / (m + 1.0)
    y = f * f
    p = 2.0 / 23.0
    p = p * y + 2.0 / 21.0
    p = p * y + 2.0 / 19.0
    p = p * y + 2.0 / 17.0
    p = p * y + 2.0 / 15.0
    p = p * y + 2.0 / 13.0
    p = p * y + 2.0 / 11.0
    p = p * y + 2.0 / 9.0
    p = p * y + 2.0 / 7.0
    p = p * y + 2.0 / 5.0
    p = p * y + 2.0 / 3.0
    p = p * y + 2.0
    return k * _LN2_HI + (f * p + k * _LN2_LO)


@njit(inline="never", forceinline=True, error_model="numpy")
def power(x, m):
    """x^m for x ≥ 0 and m > 0; 0 for x ≤ 0 (below 1e-300 it counts as 0)."""
    safe = max(x, 1e-300)
    value = exponential(m * logarithm(safe))
    return value if x > 1e-300 else 0.0


@njit(inline="never", forceinline=True, error_model="numpy")
def hyperbolic_tangent(x):
    """tanh x = (1 − e)/(1 + e), e = exp(−2x); absolute error below 2e-16."""
    e = exponential(-2.0 * x)
    return (1.0 - e) / (1.0 + e)


assert math.isclose(_LN2_HI + _LN2_LO, math.log(2.0))
