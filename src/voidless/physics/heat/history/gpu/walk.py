"""
Ranges that count by one, for the compiler.

A range of the compiler counts what is left besides where it is and moves on only where something is left, which its
later stages do not see through: eight instructions a turn instead of two, and no address is carried from turn to turn.
"""

# mypy: disable-error-code="untyped-decorator, no-any-return, no-untyped-call, no-untyped-def, attr-defined"
# mypy: disable-error-code="import-untyped, import-not-found, misc, name-defined, unused-ignore"

from __future__ import annotations

from typing import Any

from llvmlite import ir
from numba.cuda import cgutils, extending, models, types
from numba.cuda.core.imputils import RefType, iternext_impl
from numba.cuda.cudaimpl import registry as lowering_of

__all__ = ["walk"]

WORD = ir.IntType(32)


class Walk(types.SimpleIterableType):
    """Whole numbers from one up to another."""

    def __init__(self) -> None:
        super().__init__("Walk", STEP)


class Step(types.SimpleIteratorType):
    """Where a walk is."""

    def __init__(self) -> None:
        super().__init__("Step", types.int32)


STEP = Step()
WALK = Walk()


@extending.register_model(Walk)
class WalkModel(models.StructModel):
    """Where it begins and ends."""

    def __init__(self, manager: Any, kind: Walk) -> None:
        super().__init__(manager, kind, [("first", types.int32), ("stop", types.int32)])


@extending.register_model(Step)
class StepModel(models.StructModel):
    """Where it is and where it ends."""

    def __init__(self, manager: Any, kind: Step) -> None:
        super().__init__(manager, kind, [("at", types.EphemeralPointer(types.int32)), ("stop", types.int32)])


@lowering_of.lower("getiter", Walk)
def _begin(context: Any, builder: Any, sig: Any, args: Any) -> Any:
    walked = cgutils.create_struct_proxy(sig.args[0])(context, builder, value=args[0])
    step = cgutils.create_struct_proxy(sig.return_type)(context, builder)
    step.at, step.stop = cgutils.alloca_once_value(builder, walked.first), walked.stop
    return step._getvalue()


@lowering_of.lower("iternext", Step)
@iternext_impl(RefType.UNTRACKED)
def _next(context: Any, builder: Any, sig: Any, args: Any, result: Any) -> None:
    step = cgutils.create_struct_proxy(sig.args[0])(context, builder, value=args[0])
    place = builder.load(step.at)
    result.set_valid(builder.icmp_signed("<", place, step.stop))
    result.yield_(place)
    builder.store(builder.add(place, ir.Constant(WORD, 1), flags=["nsw"]), step.at)


def _word(builder: Any, value: Any) -> Any:
    width = value.type.width
    return value if width == 32 else (builder.trunc if width > 32 else builder.zext)(value, WORD)


@extending.intrinsic
def walk(typing: Any, first: Any, stop: Any) -> Any:  # noqa: ARG001 - the compiler's signature
    """Return whole numbers from one up to another, 32 bits each."""

    def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:  # noqa: ARG001 - the compiler's signature
        made = cgutils.create_struct_proxy(WALK)(context, builder)
        made.first, made.stop = _word(builder, args[0]), _word(builder, args[1])
        return made._getvalue()

    return WALK(first, stop), code
