"""
Arrays of a gang as places in one piece of memory, found by few instructions.

An array of the compiler carries 64-bit strides and tries every index for negative: most of the instructions of a step
went into that. Here an array is where the memory begins, how many entries into it, and its shape, all in 32 bits, and
what settings have each of their own lies side by side; indices are taken for whole numbers that are not negative, and
nothing is checked. A row of an array begins at an address of its own, so that its entries lie constants apart.
"""

# mypy: disable-error-code="untyped-decorator, no-any-return, no-untyped-call, no-untyped-def, attr-defined"
# mypy: disable-error-code="import-untyped, import-not-found, misc, name-defined, unused-ignore"

from __future__ import annotations

import operator
from typing import Any

from llvmlite import ir
from numba.cuda import cgutils, extending, models, nvvmutils, types
from numba.cuda.cudadecl import registry as typing_of
from numba.cuda.cudaimpl import registry as lowering_of
from numba.cuda.typing.templates import AbstractTemplate, AttributeTemplate, signature

from voidless.physics.heat.history.gpu.memory import BESIDE
from voidless.physics.heat.history.state import State

__all__ = ["add_at", "state_reader", "tail", "taken"]

WORD, LONG = ir.IntType(32), ir.IntType(64)


class Place(types.Type):
    """An array in a job's memory; of a part of one the memory begins where the part does."""

    def __init__(self, dtype: Any, ndim: int, step: int = 1, part: bool = False) -> None:
        self.dtype, self.ndim, self.step, self.part = dtype, ndim, step, part
        super().__init__(name=f"Place({dtype}, {ndim}, {step}, {part})")


@extending.register_model(Place)
class PlaceModel(models.StructModel):
    """Where the memory begins, entries from there, shape."""

    def __init__(self, manager: Any, kind: Place) -> None:
        shape = types.UniTuple(types.int32, kind.ndim)
        members = [("base", types.voidptr), ("start", types.int32), ("shape", shape)]
        super().__init__(manager, kind, members)


def _indices(kind: Any) -> int:
    return len(kind) if isinstance(kind, types.BaseTuple) else 1


def _found(array: Place, index: Any) -> Any:
    """Return what an index leads to: an entry, or the rest of an array."""
    left = array.ndim - _indices(index)
    return array.dtype if left == 0 else Place(array.dtype, left, array.step, part=True)


@typing_of.register_global(operator.getitem)
class PlaceRead(AbstractTemplate):
    """Entry or part of an array."""

    def generic(self, args: Any, kws: Any) -> Any:  # noqa: ARG002 - the compiler's signature
        if isinstance(args[0], Place):
            return signature(_found(*args), *args)
        return None


@typing_of.register_global(operator.setitem)
class PlaceWrite(AbstractTemplate):
    """Entry of an array written."""

    def generic(self, args: Any, kws: Any) -> Any:  # noqa: ARG002 - the compiler's signature
        if isinstance(args[0], Place):
            return signature(types.none, *args)
        return None


@typing_of.register_attr
class PlaceShape(AttributeTemplate):
    """Shape of an array."""

    key = Place

    def resolve_shape(self, kind: Place) -> Any:
        """Return the type of the shape."""
        return types.UniTuple(types.int32, kind.ndim)


@lowering_of.lower_getattr(Place, "shape")
def _shape(context: Any, builder: Any, kind: Any, value: Any) -> Any:
    return cgutils.create_struct_proxy(kind)(context, builder, value=value).shape


def _word(builder: Any, value: Any) -> Any:
    """Return a number in 32 bits."""
    width = value.type.width
    return value if width == 32 else (builder.trunc if width > 32 else builder.zext)(value, WORD)


def _start(context: Any, builder: Any, kinds: Any, values: Any) -> tuple[Any, Any]:
    """Return an array and how many entries into the memory an index leads."""
    kind, index = kinds
    array = cgutils.create_struct_proxy(kind)(context, builder, value=values[0])
    parts = cgutils.unpack_tuple(builder, values[1]) if isinstance(index, types.BaseTuple) else [values[1]]
    shape = cgutils.unpack_tuple(builder, array.shape)
    start = array.start
    for axis, part in enumerate(parts):
        step = _word(builder, part)
        for size in shape[axis + 1 :]:
            step = builder.mul(step, size)
        if kind.step != 1:
            step = builder.mul(step, ir.Constant(WORD, kind.step))
        start = builder.add(start, step)
    return array, start


def _pointer(context: Any, builder: Any, kinds: Any, values: Any) -> Any:
    kind = kinds[0]
    if kind.part and _indices(kinds[1]) == kind.ndim == 1:
        return _row(context, builder, kinds, values)
    array, start = _start(context, builder, kinds, values)
    return _entry(context, builder, kind, array.base, builder.zext(start, LONG))


def _entry(context: Any, builder: Any, kind: Any, base: Any, place: Any) -> Any:
    entries = builder.bitcast(base, context.get_data_type(kind.dtype).as_pointer())
    return builder.gep(entries, [place])


def _row(context: Any, builder: Any, kinds: Any, values: Any) -> Any:
    """Return the address of an entry of a part: where it begins is known, so that neighbours lie a constant apart."""
    kind, index = kinds
    array = cgutils.create_struct_proxy(kind)(context, builder, value=values[0])
    (value,) = cgutils.unpack_tuple(builder, values[1]) if isinstance(index, types.BaseTuple) else [values[1]]
    if value.type.width < LONG.width:
        value = builder.sext(value, LONG)
    return _entry(context, builder, kind, array.base, builder.mul(value, ir.Constant(LONG, kind.step)))


@lowering_of.lower(operator.getitem, Place, types.Any)
def _read(context: Any, builder: Any, sig: Any, args: Any) -> Any:
    if not isinstance(sig.return_type, Place):
        return builder.load(_pointer(context, builder, sig.args, args))
    array, start = _start(context, builder, sig.args, args)
    rest = cgutils.create_struct_proxy(sig.return_type)(context, builder)
    begin = _entry(context, builder, sig.args[0], array.base, builder.zext(start, LONG))
    rest.base, rest.start = builder.bitcast(begin, cgutils.voidptr_t), ir.Constant(WORD, 0)
    left = cgutils.unpack_tuple(builder, array.shape)[-sig.return_type.ndim :]
    rest.shape = context.make_tuple(builder, types.UniTuple(types.int32, len(left)), left)
    return rest._getvalue()


@lowering_of.lower(operator.setitem, Place, types.Any, types.Any)
def _write(context: Any, builder: Any, sig: Any, args: Any) -> Any:
    value = context.cast(builder, args[2], sig.args[2], sig.args[0].dtype)
    builder.store(value, _pointer(context, builder, sig.args[:2], args[:2]))
    return context.get_dummy_value()


@extending.intrinsic
def add_at(typing: Any, array: Any, index: Any, value: Any) -> Any:  # noqa: ARG001 - the compiler's signature
    """Add to an entry, safely where others add too."""

    def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        added = context.cast(builder, args[2], sig.args[2], sig.args[0].dtype)
        pointer = _pointer(context, builder, sig.args[:2], args[:2])
        builder.call(nvvmutils.declare_atomic_add_float64(builder.module), (pointer, added))
        return context.get_dummy_value()

    return types.none(array, index, value), code


@extending.intrinsic
def taken(typing: Any, array: Any, index: Any) -> Any:  # noqa: ARG001 - the compiler's signature
    """Return a count and raise it by one, safely where others do too."""

    def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        pointer = _pointer(context, builder, sig.args, args)
        return builder.atomic_rmw("add", pointer, ir.Constant(WORD, 1), "monotonic")

    return types.int32(array, index), code


def tail(step: int) -> Any:
    """Return a function of an array of one row and a start: what follows there, every `step` entries."""

    @extending.intrinsic
    def follow(typing: Any, array: Any, start: Any) -> Any:  # noqa: ARG001 - the compiler's signature
        kind = Place(array.dtype, 1, step, part=True)

        def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
            place = cgutils.create_struct_proxy(kind)(context, builder)
            given = cgutils.create_struct_proxy(sig.args[0])(context, builder, value=args[0])
            begin = _entry(context, builder, kind, given.data, builder.zext(_word(builder, args[1]), LONG))
            place.base, place.start = builder.bitcast(begin, cgutils.voidptr_t), ir.Constant(WORD, 0)
            place.shape = context.make_tuple(builder, types.UniTuple(types.int32, 1), [ir.Constant(WORD, 0)])
            return place._getvalue()

        return kind(array, start), code

    return follow


def state_reader(parts: tuple[tuple[Any, int, int], ...], width: int) -> Any:
    """
    Return a function that finds a state in memory.

    Parameters
    ----------
    parts : tuple of (type, int, int)
        Type of the entries, number of dimensions and which memory, for each part of a state.
    width : int
        Settings whose entries lie side by side, in the memories that have some.

    Returns
    -------
    state_at : function
        Of the pieces of memory as a tuple of rows of bytes, starts and shapes of all parts, 32 bits each, and which
        setting.
    """
    kinds = [
        Place(getattr(types, dtype), ndim, width if which in BESIDE else 1) for dtype, ndim, which in parts
    ]
    whole = types.NamedTuple(kinds, State)

    @extending.intrinsic
    def state_at(typing: Any, memory: Any, layout: Any, lane: Any) -> Any:  # noqa: ARG001 - the compiler's signature
        def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
            rows = cgutils.unpack_tuple(builder, args[0])
            bases = [
                builder.bitcast(
                    cgutils.create_struct_proxy(kind)(context, builder, value=row).data, cgutils.voidptr_t
                )
                for kind, row in zip(sig.args[0], rows, strict=True)
            ]
            numbers, beside = iter(cgutils.unpack_tuple(builder, args[1])), _word(builder, args[2])
            places = []
            for kind, (_, ndim, which) in zip(kinds, parts, strict=True):
                place = cgutils.create_struct_proxy(kind)(context, builder)
                start = next(numbers)
                if which in BESIDE:
                    start = builder.add(builder.mul(start, ir.Constant(WORD, width)), beside)
                place.base, place.start = bases[which], start
                shape = [next(numbers) for _ in range(ndim)]
                place.shape = context.make_tuple(builder, types.UniTuple(types.int32, ndim), shape)
                places.append(place._getvalue())
            return context.make_tuple(builder, whole, places)

        return whole(memory, layout, lane), code

    return state_at
