"""Which engine runs a study? The one that was asked for, or a card where there is one and it is worth it."""

from __future__ import annotations

from collections.abc import Callable
from contextvars import ContextVar

from simrun.base.errors import BadInput, Problem
from simrun.engine.batch.together import CPU, GPU

WORTH_RACES = 50
"""From so many races on a card is worth being prepared, which takes about half a minute."""


def engine_for(
    asked: str | None, races: int, kept_by: Callable[[], str | None] = lambda: None
) -> str:
    """The engine of a study of so many races. asked: None where nothing was said.

    kept_by: the engine of the races that are kept already, which is gone on with unless another is asked for.
    Raises BadInput where a card is asked for and there is none.
    Check: tests/unit/engine/test_which_engine.py.
    """
    if asked == CPU:
        return CPU
    missing = missing_for_card()
    if asked == GPU and missing:
        raise BadInput(Problem("--engine", *missing))
    if asked == GPU:
        return GPU
    if missing:
        return CPU
    return kept_by() or (GPU if races >= WORTH_RACES else CPU)


_LAST: ContextVar[str] = ContextVar("engine", default="")


def carries_out(engine: str) -> None:
    """From now on the races of a study are of this engine: what is made of them asks `last_engine`."""
    _LAST.set(engine)


def last_engine() -> str:
    """By which engine were the races of the last study of this thread run? Empty where there was none."""
    return _LAST.get()


def missing_for_card() -> tuple[str, str] | None:
    """What is missing for races on a card, and what to do about it? None where nothing is.

    Without the extra nothing of a card's library is imported, not even to look for a card.
    """
    try:
        import numba_cuda  # noqa: F401
    except ImportError:
        return "gpu, and the extra `gpu` is missing", "cpu, or pip install 'simrun[gpu]'"
    from numba import cuda

    if not cuda.is_available():
        return "gpu, and no graphics card answers", "cpu, or a machine with an NVIDIA card"
    from simrun.engine.batch.on_card import rounds_twice

    if not rounds_twice():
        return "gpu, and this card rounds otherwise than the engine's laws need", "cpu"
    return None
