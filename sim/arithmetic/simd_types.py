"""The vector types of `sim.arithmetic.simd` as the compiler sees them, and the code of their operators."""

from __future__ import annotations

import operator

from llvmlite import ir
from numba import types
from numba.core.typing.templates import AbstractTemplate, infer_global, signature
from numba.extending import lower_builtin, models, register_model

WIDTH = 8

DOUBLE = ir.DoubleType()
VECTOR = ir.VectorType(DOUBLE, WIDTH)
BOOL_VECTOR = ir.VectorType(ir.IntType(1), WIDTH)
INT_VECTOR = ir.VectorType(ir.IntType(64), WIDTH)

FIRST = {"target": "cpu"}  # asked before what serves every target: some twenty for each operator


class LanesType(types.Type):
    """Eight float64."""

    def __init__(self):
        super().__init__(name="Lanes")


class MaskType(types.Type):
    """Eight booleans."""

    def __init__(self):
        super().__init__(name="LanesMask")


class IndexType(types.Type):
    """Eight int64."""

    def __init__(self):
        super().__init__(name="LanesIndex")


lanes = LanesType()
mask = MaskType()
index = IndexType()


@register_model(LanesType)
class _LanesModel(models.PrimitiveModel):
    def __init__(self, dmm, fe_type):
        super().__init__(dmm, fe_type, VECTOR)


@register_model(IndexType)
class _IndexModel(models.PrimitiveModel):
    def __init__(self, dmm, fe_type):
        super().__init__(dmm, fe_type, INT_VECTOR)


@register_model(MaskType)
class _MaskModel(models.PrimitiveModel):
    def __init__(self, dmm, fe_type):
        super().__init__(dmm, fe_type, BOOL_VECTOR)


def in_all_lanes(builder, value):
    """A scalar in all lanes."""
    one = builder.insert_element(ir.Constant(VECTOR, ir.Undefined), value, ir.Constant(ir.IntType(32), 0))
    zeros = ir.Constant(ir.VectorType(ir.IntType(32), WIDTH), None)
    return builder.shuffle_vector(one, ir.Constant(VECTOR, ir.Undefined), zeros)


def as_vector(context, builder, value, kind):
    if kind == lanes:
        return value
    return in_all_lanes(builder, context.cast(builder, value, kind, types.float64))


def is_number(kind) -> bool:
    return isinstance(kind, (LanesType, types.Float, types.Integer))


def _binary(op, result, build):
    """Typing and code of one operator for (Lanes, Lanes), (Lanes, number) and (number, Lanes)."""

    @infer_global(op)
    class _Typing(AbstractTemplate):
        metadata = FIRST

        def generic(self, args, kws):
            if len(args) == 2 and lanes in args and all(is_number(a) for a in args):
                return signature(result, *args)
            if args == (types.float64, types.float64):  # as the compiler itself would find, later
                return signature(types.float64 if result == lanes else types.boolean, *args)
            return None

    def code(context, builder, sig, args):
        a, b = (as_vector(context, builder, v, k) for v, k in zip(args, sig.args, strict=True))
        return build(builder, a, b)

    for pair in ((lanes, lanes), (lanes, types.Number), (types.Number, lanes)):
        lower_builtin(op, *pair)(code)


_binary(operator.add, lanes, lambda b, x, y: b.fadd(x, y, flags=("contract",)))
_binary(operator.sub, lanes, lambda b, x, y: b.fsub(x, y, flags=("contract",)))
_binary(operator.mul, lanes, lambda b, x, y: b.fmul(x, y, flags=("contract",)))
_binary(operator.truediv, lanes, lambda b, x, y: b.fdiv(x, y))
for _op, _code in (
    (operator.lt, "<"),
    (operator.le, "<="),
    (operator.gt, ">"),
    (operator.ge, ">="),
    (operator.ne, "!="),
):
    _binary(_op, mask, lambda b, x, y, c=_code: b.fcmp_ordered(c, x, y) if c != "!=" else b.fcmp_unordered(c, x, y))


@infer_global(operator.neg)
class _NegTyping(AbstractTemplate):
    metadata = FIRST

    def generic(self, args, kws):
        return signature(lanes, lanes) if args == (lanes,) else None


@lower_builtin(operator.neg, lanes)
def _neg(context, builder, sig, args):
    return builder.fneg(args[0])


def _mask_binary(op, build):
    @infer_global(op)
    class _Typing(AbstractTemplate):
        metadata = FIRST

        def generic(self, args, kws):
            return signature(mask, mask, mask) if args == (mask, mask) else None

    @lower_builtin(op, mask, mask)
    def code(context, builder, sig, args):
        return build(builder, *args)


_mask_binary(operator.or_, lambda b, x, y: b.or_(x, y))
_mask_binary(operator.and_, lambda b, x, y: b.and_(x, y))
_mask_binary(operator.xor, lambda b, x, y: b.xor(x, y))
