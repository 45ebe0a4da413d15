"""How kernels are compiled: on their first call, without the interpreter's lock, kept on disk."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

from numba import njit

Function = TypeVar("Function", bound=Callable[..., Any])


def compiled(function: Function) -> Function:
    """Compile a kernel when it is first called, and keep its machine code where it can be written.

    numba writes into the package's ``__pycache__``, else into the user's cache directory (or
    ``NUMBA_CACHE_DIR``), and refuses to make the function where it can write into none of them. A
    read-only installation is no fault of the user: the kernel is then compiled anew in each run,
    with the same result.
    """
    kernel: Any
    try:
        kernel = njit(cache=True, nogil=True)(function)
    except RuntimeError as error:
        if "no locator available" not in str(error):
            raise
        kernel = njit(nogil=True)(function)
    return cast(Function, kernel)
