"""Eight rows as one number: a vector type for compiled code, so that one source of the physics serves one row or eight.

`Lanes` holds eight float64 and lives in one wide register. The operators + − * / and the functions `root`, `largest`,
`smallest`, `magnitude`, `select` below take floats and Lanes alike (a float stands for eight equal numbers); a
comparison of Lanes gives a `Mask`. A function written with these compiles once for floats and once for Lanes, with
the same operations in the same order, so that a row gives the same result alone or among others.
"""

from __future__ import annotations

import math

from llvmlite import ir
from numba import types
from numba.core import cgutils
from numba.extending import overload

from sim.arithmetic.compiled import instruction, part
from sim.arithmetic.simd_types import (
    INT_VECTOR,
    VECTOR,
    WIDTH,
    LanesType,
    MaskType,
    as_vector,
    in_all_lanes,
    index,
    lanes,
    mask,
)

__all__ = [
    "WIDTH",
    "LanesType",
    "MaskType",
    "any_lane",
    "anywhere",
    "as_lanes",
    "bits_set",
    "lane",
    "largest",
    "load",
    "load_index",
    "lowest_bit",
    "magnitude",
    "mask_bits",
    "moved",
    "put",
    "root",
    "select",
    "smallest",
    "spread",
    "store",
    "total",
    "truncate",
    "whole",
    "with_lane",
]  # fmt: skip


def _call(builder, name, values):
    fn = cgutils.get_or_insert_function(builder.module, ir.FunctionType(values[0].type, [v.type for v in values]), name)
    return builder.call(fn, values)


@instruction
def _root_lanes(typingctx, x):
    def code(context, builder, sig, args):
        return _call(builder, "llvm.sqrt.v8f64", args)

    return lanes(lanes), code


@instruction
def _select_lanes(typingctx, c, a, b):
    def code(context, builder, sig, args):
        x = as_vector(context, builder, args[1], sig.args[1])
        y = as_vector(context, builder, args[2], sig.args[2])
        return builder.select(args[0], x, y)

    return lanes(c, a, b), code


@instruction
def any_lane(typingctx, c):
    """True where any lane of a mask is set."""

    def code(context, builder, sig, args):
        bits = builder.bitcast(args[0], ir.IntType(WIDTH))
        return builder.icmp_unsigned("!=", bits, ir.Constant(ir.IntType(WIDTH), 0))

    return types.boolean(mask), code


@instruction
def mask_bits(typingctx, c):
    """A mask as the bits of an integer, lane 0 lowest."""

    def code(context, builder, sig, args):
        return builder.zext(builder.bitcast(args[0], ir.IntType(WIDTH)), ir.IntType(64))

    return types.int64(mask), code


@instruction
def lowest_bit(typingctx, bits):
    """Place of the lowest bit that is set in a whole number that is not 0."""

    def code(context, builder, sig, args):
        return builder.cttz(args[0], ir.Constant(ir.IntType(1), 1))

    return types.int64(types.int64), code


@instruction
def bits_set(typingctx, bits):
    """How many bits are set in a whole number."""

    def code(context, builder, sig, args):
        return builder.ctpop(args[0])

    return types.int64(types.int64), code


@instruction
def spread(typingctx, x):
    """A float in all lanes."""

    def code(context, builder, sig, args):
        return in_all_lanes(builder, args[0])

    return lanes(types.float64), code


@instruction
def lane(typingctx, x, j):
    """Number in lane j."""

    def code(context, builder, sig, args):
        return builder.extract_element(args[0], context.cast(builder, args[1], sig.args[1], types.int32))

    return types.float64(lanes, j), code


@instruction
def with_lane(typingctx, x, j, value):
    """The same Lanes with lane j replaced."""

    def code(context, builder, sig, args):
        return builder.insert_element(args[0], args[2], context.cast(builder, args[1], sig.args[1], types.int32))

    return lanes(lanes, j, types.float64), code


def _element_pointer(context, builder, array_type, array, index, index_type):
    struct = context.make_array(array_type)(context, builder, value=array)
    return builder.gep(struct.data, [context.cast(builder, index, index_type, types.intp)])


@instruction
def load(typingctx, array, i):
    """Lanes from array[i : i + 8] of a flat C-contiguous float64 array."""

    def code(context, builder, sig, args):
        pointer = _element_pointer(context, builder, sig.args[0], args[0], args[1], sig.args[1])
        return builder.load(builder.bitcast(pointer, VECTOR.as_pointer()), align=8)

    return lanes(array, i), code


@instruction
def store(typingctx, array, i, value):
    """Write Lanes to array[i : i + 8] of a flat C-contiguous float64 array."""

    def code(context, builder, sig, args):
        pointer = _element_pointer(context, builder, sig.args[0], args[0], args[1], sig.args[1])
        vector = as_vector(context, builder, args[2], sig.args[2])
        builder.store(vector, builder.bitcast(pointer, VECTOR.as_pointer()), align=8)
        return context.get_dummy_value()

    return types.void(array, i, value), code


@instruction
def truncate(typingctx, x):
    """Lanes rounded towards zero (for |x| < 2^52)."""

    def code(context, builder, sig, args):
        return builder.sitofp(builder.fptosi(args[0], INT_VECTOR), VECTOR)

    return lanes(lanes), code


@instruction
def whole(typingctx, x):
    """Lanes of whole numbers as an index."""

    def code(context, builder, sig, args):
        return builder.fptosi(args[0], INT_VECTOR)

    return index(lanes), code


@instruction
def load_index(typingctx, array, i):
    """Index from array[i : i + 8] of a flat C-contiguous int64 array."""

    def code(context, builder, sig, args):
        pointer = _element_pointer(context, builder, sig.args[0], args[0], args[1], sig.args[1])
        return builder.load(builder.bitcast(pointer, INT_VECTOR.as_pointer()), align=8)

    return index(array, i), code


@instruction
def moved(typingctx, x, i):
    """Index with an integer added in all lanes, or with another index."""

    def code(context, builder, sig, args):
        if sig.args[1] == index:
            return builder.add(*args)
        shift = context.cast(builder, args[1], sig.args[1], types.int64)
        one = builder.insert_element(ir.Constant(INT_VECTOR, ir.Undefined), shift, ir.Constant(ir.IntType(32), 0))
        zeros = ir.Constant(ir.VectorType(ir.IntType(32), WIDTH), None)
        return builder.add(args[0], builder.shuffle_vector(one, ir.Constant(INT_VECTOR, ir.Undefined), zeros))

    return index(x, i), code


@instruction
def _put_code(typingctx, array, i, values):
    """Compiled form of `put`."""
    kinds = list(values)
    wide = any(k == lanes for k in kinds)

    def code(context, builder, sig, args):
        pointer = _element_pointer(context, builder, sig.args[0], args[0], args[1], sig.args[1])
        for n, kind in enumerate(kinds):
            value = builder.extract_value(args[2], n)
            place = builder.gep(pointer, [ir.Constant(ir.IntType(64), n * (WIDTH if wide else 1))])
            if wide:
                vector = as_vector(context, builder, value, kind)
                builder.store(vector, builder.bitcast(place, VECTOR.as_pointer()), align=8)
            else:
                builder.store(context.cast(builder, value, kind, types.float64), place)
        return context.get_dummy_value()

    return types.void(array, i, values), code


# Functions for floats and Lanes alike. The plain Python bodies also serve code that is not compiled.


def select(c, a, b):
    """a where c, else b; both are computed."""
    return a if c else b


def root(x):
    """Square root."""
    return math.sqrt(x)


def anywhere(c):
    """True where a condition holds in any lane."""
    return c


def as_lanes(x):
    """A float in all lanes; Lanes as they are (compiled code only)."""
    raise NotImplementedError("Lanes exist in compiled code only")


def put(array, i, values):
    """Write a tuple of floats to array[i], array[i + 1], … of a flat C-contiguous float64 array.

    With any Lanes among the values, each takes eight places.
    """
    array[i : i + len(values)] = values


@overload(put, jit_options={"forceinline": True})
def _put(array, i, values):
    return lambda array, i, values: _put_code(array, i, values)


@overload(select, jit_options={"forceinline": True})
def _select(c, a, b):
    if isinstance(c, MaskType):
        return lambda c, a, b: _select_lanes(c, a, b)
    return lambda c, a, b: a if c else b


@overload(root, jit_options={"forceinline": True})
def _root(x):
    if isinstance(x, LanesType):
        return lambda x: _root_lanes(x)
    return lambda x: math.sqrt(x)


@overload(anywhere, jit_options={"forceinline": True})
def _anywhere(c):
    if isinstance(c, MaskType):
        return lambda c: any_lane(c)
    return lambda c: c


@overload(as_lanes, jit_options={"forceinline": True})
def _as_lanes(x):
    if isinstance(x, LanesType):
        return lambda x: x
    return lambda x: spread(float(x))


@part
def largest(a, b):
    """The larger of two."""
    return select(a > b, a, b)


@part
def smallest(a, b):
    """The smaller of two."""
    return select(a < b, a, b)


@part
def magnitude(x):
    """Absolute value."""
    return select(x < 0.0, -x, x)


@part
def total(x):
    """Sum of all lanes, from the first on."""
    found = 0.0
    for j in range(WIDTH):
        found += lane(x, j)
    return found
