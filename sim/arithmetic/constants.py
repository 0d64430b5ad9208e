"""Constants of a run behind a pointer: a tuple of a hundred numbers that compiled functions hand on as two addresses.

Handed on by value, such a tuple is taken apart and put together again at every call, which costs the compiler a third
of its time. Python knows the named tuple alone; as a call from Python begins, its numbers are laid out once, and
compiled code reads a field where it needs it. Some fields may differ between eight rows (`varied`): these lie apart,
eight numbers each, so that the same source reads one row's (a float) or all rows' (`Lanes`).
"""

from __future__ import annotations

from typing import Any

from llvmlite import ir
from numba import types
from numba.core import cgutils
from numba.core.typing.templates import AttributeTemplate
from numba.extending import (
    NativeValue,
    infer_getattr,
    lower_getattr_generic,
    models,
    register_model,
    typeof_impl,
    unbox,
)

from sim.arithmetic.compiled import instruction
from sim.arithmetic.simd_types import DOUBLE, VECTOR, WIDTH, lanes


class ConstantsType(types.Type):
    """Constants of one row (kind float64) or of eight (kind Lanes); fields in order, varied: those that may differ."""

    def __init__(self, name: str, fields: tuple[str, ...], varied: tuple[str, ...], kind: types.Type) -> None:
        self.fields, self.varied, self.kind = fields, varied, kind
        self.of = name
        super().__init__(name=f"{name}({kind}: {len(fields)} fields, {len(varied)} varied)")

    @property
    def of_rows(self) -> ConstantsType:
        """The same of eight rows."""
        return ConstantsType(self.of, self.fields, self.varied, lanes)


@register_model(ConstantsType)
class _ConstantsModel(models.StructModel):
    def __init__(self, dmm, fe_type):
        number = types.CPointer(types.float64)
        super().__init__(dmm, fe_type, [("shared", number), ("varied", number)])


@infer_getattr
class _Fields(AttributeTemplate):
    key = ConstantsType

    def generic_resolve(self, value, attr):  # type: ignore[override]
        if attr in value.varied:
            return value.kind
        return types.float64 if attr in value.fields else None


@lower_getattr_generic(ConstantsType)
def _field(context, builder, kind, value, name):
    """One field, read from its place."""
    held = cgutils.create_struct_proxy(kind)(context, builder, value=value)
    if name not in kind.varied:
        return _constant(builder, builder.load(_place(builder, held.shared, kind.fields.index(name))))
    place = _place(builder, held.varied, kind.varied.index(name) * WIDTH)
    if kind.kind == lanes:
        return _constant(builder, builder.load(builder.bitcast(place, VECTOR.as_pointer()), align=8))
    return _constant(builder, builder.load(place))


def _constant(builder, number):
    """A number that nothing writes while the loop lasts: it need not be read again after whatever is stored."""
    number.set_metadata("invariant.load", builder.module.add_metadata([]))
    return number


def _place(builder, numbers, i):
    return builder.gep(numbers, [ir.Constant(ir.IntType(64), i)])


def behind_a_pointer(kind: type, varied: tuple[str, ...]) -> None:
    """Let compiled code take a named tuple of floats so; varied: as above."""
    one = ConstantsType(kind.__name__, kind._fields, varied, types.float64)  # type: ignore[attr-defined]

    @typeof_impl.register(kind)
    def _(value, c):
        return one


@unbox(ConstantsType)
def _laid_out(kind, given, c):
    """The numbers of a named tuple on the stack of the call from Python: all fields, then eight places for a varied."""
    builder, count = c.builder, len(kind.fields)
    numbers = cgutils.alloca_once(builder, DOUBLE, size=count + WIDTH * len(kind.varied))
    item_of = ir.FunctionType(c.pyapi.pyobj, [c.pyapi.pyobj, c.pyapi.py_ssize_t])
    item = cgutils.get_or_insert_function(builder.module, item_of, "PyTuple_GetItem")
    with cgutils.for_range(builder, ir.Constant(c.pyapi.py_ssize_t, count)) as loop:
        number = c.pyapi.float_as_double(builder.call(item, [given, loop.index]))
        builder.store(number, builder.gep(numbers, [loop.index]))
    held = cgutils.create_struct_proxy(kind)(c.context, builder)
    for i, name in enumerate(kind.varied):
        number = builder.load(_place(builder, numbers, kind.fields.index(name)))
        builder.store(number, _place(builder, numbers, count + i * WIDTH))
    # from here on they are constant: whoever reads them must not see that they were written just now
    same = ir.InlineAsm(ir.FunctionType(numbers.type, [numbers.type]), "", "=r,0,~{memory}", side_effect=True)
    held.shared = builder.call(same, [numbers])
    held.varied = _place(builder, held.shared, count)
    return NativeValue(held._getvalue(), is_error=c.pyapi.c_api_error())


def with_varied(*, all_rows: bool) -> Any:
    """Compiled function (constants, varied, j) → the same with row j of varied numbers, given flat (fields, 8); with
    those of all rows from row j on.
    """

    @instruction
    def with_rows(typingctx, constants, varied, j):
        made = constants.of_rows if all_rows else constants

        def code(context, builder, signature, args):
            array = context.make_array(signature.args[1])(context, builder, value=args[1])
            row = context.cast(builder, args[2], signature.args[2], types.intp)
            old = cgutils.create_struct_proxy(constants)(context, builder, value=args[0])
            held = cgutils.create_struct_proxy(made)(context, builder)
            held.shared, held.varied = old.shared, builder.gep(array.data, [row])
            return held._getvalue()

        return made(constants, varied, j), code

    return with_rows
