"""Functions compiled to machine code, kept on disk until anything they are made of changes.

Numba keeps what it compiled by the age of the file that a function stands in. Our loops are put
together from functions and constants of several files, so each is kept by a digest of all it is
made of as well.
"""

from collections.abc import Callable, Iterator
from hashlib import sha256
from types import CodeType, FunctionType
from typing import Any, TypeVar, cast

import numpy as np
from numba import njit
from numba.core.caching import FunctionCache

Function = TypeVar("Function", bound=Callable[..., Any])

PACKAGE = __name__.partition(".")[0]

CONSTANTS = (int, float, complex, str, bytes, tuple, np.generic, np.dtype)
"""Types whose values are built into machine code."""


def compiled(function: Function) -> Function:
    """Compile for use without the interpreter's lock; kept on disk."""
    # divisions as IEEE says, without a test for zero; sums may use fused multiply-add
    return _kept(function, nogil=True, fastmath={"contract"})


def inlined(function: Function) -> Function:
    """Compile into its caller; kept on disk for callers that are not compiled."""
    return _kept(function, inline="always")


def step(function: Function) -> Function:
    """Compile for the loop, which keeps it on disk with its own code; not callable by itself."""
    bare: dict[str, Any] = {"no_cpython_wrapper": True, "no_cfunc_wrapper": True}
    compiler = njit(error_model="numpy", fastmath={"contract"}, forceinline=True, **bare)
    return cast(Function, compiler(function))


def made_of(function: Callable[..., Any]) -> str:
    """A digest of a function's code and of every function and constant of ours it uses.

    The same in every process while the sources are the same, whatever their dates.
    """
    digest = sha256()
    for part in _parts(function, set()):
        digest.update(part.encode() + b"\n")
    return digest.hexdigest()


def _kept(function: Function, **options: Any) -> Function:
    made = njit(error_model="numpy", **options)(function)
    made._cache = _Kept(function)  # as cache=True does, with a key that sees more
    return cast(Function, made)


class _Kept(FunctionCache):
    """Machine code on disk, found again by all that it was made of."""

    def _index_key(self, sig: Any, codegen: Any) -> tuple[Any, ...]:
        return (*super()._index_key(sig, codegen), made_of(self._py_func))


def _parts(function: Any, seen: set[int]) -> Iterator[str]:
    """What a function does, and by name what it uses, each function once."""
    if id(function) in seen:
        return
    seen.add(id(function))
    yield from _code(function.__code__)
    names = _names(function.__code__)
    used = {name: function.__globals__[name] for name in names if name in function.__globals__}
    for name, value in (*used.items(), *function.__annotations__.items()):
        inner = getattr(value, "py_func", value)
        if isinstance(inner, FunctionType) and inner.__module__.partition(".")[0] == PACKAGE:
            yield name
            yield from _parts(inner, seen)
        elif isinstance(value, np.ndarray):
            yield f"{name} = {value.dtype} {value.shape} {value.tobytes().hex()}"
        elif isinstance(value, CONSTANTS):
            yield f"{name} = {value!r}"
        elif hasattr(value, "_fields"):
            yield f"{name} of {value._fields}"


def _code(code: CodeType) -> Iterator[str]:
    yield code.co_code.hex()
    yield repr(code.co_names)
    for constant in code.co_consts:
        if isinstance(constant, CodeType):
            yield from _code(constant)
        else:
            yield repr(constant)


def _names(code: CodeType) -> list[str]:
    inner = (constant for constant in code.co_consts if isinstance(constant, CodeType))
    return [*code.co_names, *(name for one in inner for name in _names(one))]
