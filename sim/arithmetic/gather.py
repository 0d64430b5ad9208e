"""Numbers read for eight rows at once, each row in a place of its own."""

from __future__ import annotations

from llvmlite import ir
from numba import types

from sim.arithmetic.compiled import instruction
from sim.arithmetic.simd_types import DOUBLE, VECTOR, WIDTH, lanes

CACHE_LINE = 8  # numbers in a line of a processor's cache, 64 bytes


@instruction
def gather(typingctx, array, at, offset):
    """Lanes of array[at + offset] of a flat C-contiguous float64 array; nothing is checked."""

    def code(context, builder, sig, args):
        struct = context.make_array(sig.args[0])(context, builder, value=args[0])
        offset = context.cast(builder, args[2], sig.args[2], types.int64)
        result = ir.Constant(VECTOR, ir.Undefined)
        for j in range(WIDTH):
            place = ir.Constant(ir.IntType(32), j)
            pointer = builder.gep(struct.data, [builder.extract_element(args[1], place)])
            value = builder.load(builder.gep(pointer, [offset]), align=8)
            result = builder.insert_element(result, value, place)
        return result

    return lanes(array, at, offset), code


@instruction
def gather_four(typingctx, array, at, offset):
    """Lanes of array[at + offset], and of the three numbers that follow each of them; nothing is checked.

    Four numbers are loaded at once for every lane, then turned: the lanes of a number from the numbers of a lane. Rows
    go forwards, each in its own place, more of them than a processor follows by itself: the line of the cache behind
    the one that is read is asked for as well.
    """

    def code(context, builder, sig, args):
        struct = context.make_array(sig.args[0])(context, builder, value=args[0])
        offset = context.cast(builder, args[2], sig.args[2], types.int64)
        four, byte, number = ir.VectorType(DOUBLE, 4), ir.IntType(8).as_pointer(), ir.IntType(32)
        kind = ir.FunctionType(ir.VoidType(), [byte, number, number, number])
        ask = builder.module.declare_intrinsic("llvm.prefetch", (byte,), kind)
        how = [number(0), number(3), number(1)]  # to be read, near at hand, data
        loaded = []
        for j in range(WIDTH):
            pointer = builder.gep(struct.data, [builder.extract_element(args[1], ir.Constant(ir.IntType(32), j))])
            pointer = builder.gep(pointer, [offset])
            next_line = builder.gep(pointer, [ir.Constant(ir.IntType(64), CACHE_LINE)])
            builder.call(ask, [builder.bitcast(next_line, byte), *how])
            loaded.append(builder.load(builder.bitcast(pointer, four.as_pointer()), align=8))

        def shuffled(x, y, places):
            kind = ir.VectorType(ir.IntType(32), len(places))
            return builder.shuffle_vector(x, y, ir.Constant(kind, places))

        # lanes 0|2, 1|3, 4|6, 5|7 side by side, then in pairs, so that every turn stays in its half
        a, b, c, d = (shuffled(loaded[j], loaded[j + 2], list(range(8))) for j in (0, 1, 4, 5))
        even, odd = [0, 8, 2, 10, 4, 12, 6, 14], [1, 9, 3, 11, 5, 13, 7, 15]
        pairs = [(shuffled(a, b, places), shuffled(c, d, places)) for places in (even, odd)]
        halves = [0, 1, 4, 5, 8, 9, 12, 13], [2, 3, 6, 7, 10, 11, 14, 15]
        values = [shuffled(x, y, half) for half in halves for x, y in pairs]
        return context.make_tuple(builder, sig.return_type, values)

    return types.UniTuple(lanes, 4)(array, at, offset), code
