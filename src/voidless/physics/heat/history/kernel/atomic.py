"""Words that two threads of the CPU read and write safely."""

# mypy: disable-error-code="untyped-decorator, no-any-return, no-untyped-call, misc"

from __future__ import annotations

from typing import Any

from numba.core import cgutils, types
from numba.extending import intrinsic

__all__ = ["read", "swap", "write"]


def _word(context: Any, builder: Any, kind: Any, array: Any, index: Any) -> Any:
    data = cgutils.create_struct_proxy(kind)(context, builder, value=array).data
    return builder.gep(data, [index])


@intrinsic
def read(typing: Any, array: Any, index: Any) -> Any:  # noqa: ARG001 - the compiler's signature
    """Return a word, and what its writer wrote before it is seen from here on."""

    def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        return builder.load_atomic(_word(context, builder, sig.args[0], *args), "acquire", 8)

    return types.int64(array, types.int64), code


@intrinsic
def write(typing: Any, array: Any, index: Any, value: Any) -> Any:  # noqa: ARG001 - the compiler's signature
    """Write a word after all that was written before."""

    def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        word = _word(context, builder, sig.args[0], *args[:2])
        builder.store_atomic(args[2], word, "release", 8)
        return context.get_dummy_value()

    return types.none(array, types.int64, types.int64), code


@intrinsic
def swap(typing: Any, array: Any, index: Any, old: Any, new: Any) -> Any:  # noqa: ARG001 - the compiler's signature
    """Return whether a word was `old` and is `new` now."""

    def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        word = _word(context, builder, sig.args[0], *args[:2])
        found = builder.cmpxchg(word, args[2], args[3], "acq_rel", "acquire")
        return builder.extract_value(found, 1)

    return types.boolean(array, types.int64, types.int64, types.int64), code
