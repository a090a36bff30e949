"""The compiler: what it makes of a function, and whether it is at work now. Who only marks a function never
loads it."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from typing import Any, cast

import numba
from numba.core.dispatcher import Dispatcher
from numba.core.errors import NumbaError
from numba.core.event import Listener, install_listener

from simrun.base.code.kept_code import kept_in
from simrun.base.code.parts import PartCompiler

KERNEL = "run_steps"
"""The function that steps a race; nearly all that is compiled is compiled for it."""

PLAIN = bool(cast(Any, numba.config).DISABLE_JIT)
"""Does everything stay plain Python, for debugging?"""

_kept_in = lru_cache(maxsize=1)(kept_in)


class Compiling(Listener):
    """What is being compiled now, and how long has it taken? Nothing that is loaded from the cache counts.

    `told` is called once, when the kernel's turn comes: all else takes a second, the kernel the rest.
    """

    def __init__(self, told: Callable[[], None] | None = None) -> None:
        self.seconds = 0.0
        self._told, self._under_way, self._begun_s = told, 0, 0.0

    def on_start(self, event: Any) -> None:
        """A function begins, perhaps inside another that needs it."""
        if not self._under_way:
            self._begun_s = time.perf_counter()
        self._under_way += 1
        if self._told and event.data["dispatcher"].py_func.__name__ == KERNEL:
            told, self._told = self._told, None
            told()

    def on_end(self, event: Any) -> None:
        """A function is ready."""
        self._under_way -= 1
        if not self._under_way:
            self.seconds += time.perf_counter() - self._begun_s


@contextmanager
def watched(told: Callable[[], None] | None = None) -> Iterator[Compiling]:
    """Is anything compiled inside this block, and for how long?

    numba says so itself: what it will do cannot be told from the files that it keeps.
    Check: tests/unit/cli/test_compiled.py.
    """
    with install_listener("numba:compile", Compiling(told)) as watch:
        yield watch


def dispatcher_of(function: Callable[..., Any], folder: Path | None, **options: Any) -> Any:
    """A function that is compiled for the types it is called with, and kept in the folder for the next
    time."""
    options |= {"nogil": True, "error_model": "numpy", "forceinline": True}
    wrapped: Any = numba.njit(**options)(function)
    if isinstance(wrapped, Dispatcher):  # else it stays plain Python
        if folder is not None:
            cast(Any, wrapped)._cache = _kept_in(folder)(function)
        options |= {"no_cpython_wrapper": True, "no_cfunc_wrapper": True}
        part: Any = numba.njit(pipeline_class=PartCompiler, **options)(function)
        # Callers ask these two for a function that they call.
        cast(Any, wrapped).get_call_template = part.get_call_template
        cast(Any, wrapped).get_overload = part.get_overload
    return wrapped


def called_by_kernel(law: Any, text: str, count: int) -> Any:
    """A function of `count` numbers that compiled code can be handed and calls by its address.

    text: what it is made of, a lambda that may call `law`. Raises TypeError, in one line, where that cannot
    be compiled. Check: tests/unit/tactics/test_own_behaviour.py.
    """
    ready = law is None or isinstance(law, Dispatcher) or PLAIN
    made = eval(text, {"law": law if ready else numba.njit(error_model="numpy")(law)})
    if PLAIN:
        return made
    numbers = (numba.float64,) * count
    try:
        return numba.cfunc(numba.float64(*numbers), error_model="numpy")(made)
    except (NumbaError, NotImplementedError) as wrong:
        raise TypeError(f"cannot be compiled: {_first_words(str(wrong))}") from wrong


def _first_words(told: str) -> str:
    """What the compiler complains of, without where in itself it found it."""
    lines = (line.strip() for line in told.splitlines())
    kept = [line for line in lines if line and "numba pipeline" not in line and "-----" not in line]
    return " ".join(" ".join(kept).split())[:160]
