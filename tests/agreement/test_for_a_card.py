"""What is run on a card can be compiled for one; no card is needed for that, only the extra `gpu`."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from simrun.engine.batch.packing import packed_races
from simrun.engine.run import field_of
from simrun.scenario.reader import read

pytestmark = pytest.mark.slow
SCENARIOS = Path(__file__).parents[2] / "scenarios"
CARD = (9, 0)
"""Compiled for this state of the art."""


@pytest.mark.parametrize("name", ["over_now", "alone_steps", "field_steps"])
def test_the_batch_is_compiled_for_a_card(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every function of the laws that it calls, each operation rounded by itself."""
    pytest.importorskip("numba_cuda")
    import numba
    from numba import cuda, types
    from numba.cuda import dispatcher

    from simrun.engine.batch import on_card

    card = SimpleNamespace(compute_capability=CARD)
    monkeypatch.setattr(dispatcher, "get_current_device", lambda: card)
    batch = packed_races([field_of(read(SCENARIOS / "dual_meet.toml"), 1, frames=False)])
    parts: Any = [np.asarray(part) for part in batch]
    of_batch, numbers = numba.typeof(type(batch)(*parts)), numba.typeof(np.zeros(2, np.int32))
    step = (types.int64, types.int64, types.float64, of_batch)
    told = {"over_now": (of_batch,), "alone_steps": (*step, numbers, numbers)}
    with on_card.each_rounded():
        made, _ = cuda.compile(
            getattr(on_card, name),
            types.void(*told.get(name, (*step, numbers))),
            cc=CARD,
            device=False,
            abi="numba",
        )
    text = made.decode() if isinstance(made, bytes) else made
    assert ".entry" in text
    assert "mul.f64" not in text
    assert "add.f64" not in text
    assert name == "over_now" or text.count("mul.rn.f64") > 100
