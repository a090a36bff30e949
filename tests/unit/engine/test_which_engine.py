"""The engine that is asked for, the one that is there, and what happens where there is no card."""

from __future__ import annotations

import subprocess
import sys

import pytest

from simrun.base.errors import BadInput
from simrun.engine.batch import which_engine
from simrun.engine.batch.which_engine import WORTH_RACES, engine_for

WITHOUT = """
import sys
sys.modules["numba_cuda"] = None  # as where the extra is not installed
import simrun.trials.carry_out
from simrun.engine.batch.which_engine import engine_for
assert engine_for(None, 100000) == "cpu"
assert not [name for name in sys.modules if name.startswith(("numba.cuda.cudadrv", "cuda"))]
"""


def test_without_the_extra_nothing_of_a_card_is_imported() -> None:
    """Nor is anything said: the processor runs the study."""
    done = subprocess.run([sys.executable, "-c", WITHOUT], capture_output=True, text=True)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_a_card_that_is_asked_for_and_missing_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """One error, with what to do."""
    monkeypatch.setitem(sys.modules, "numba_cuda", None)
    with pytest.raises(BadInput, match=r"--engine.*extra `gpu` is missing.*pip install"):
        engine_for("gpu", 1)


def test_a_card_is_taken_where_it_is_worth_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """From so many races on, unless something else is said or races of the other engine are kept."""
    monkeypatch.setattr(which_engine, "missing_for_card", lambda: None)
    assert engine_for(None, WORTH_RACES) == "gpu"
    assert engine_for(None, WORTH_RACES - 1) == "cpu"
    assert engine_for("cpu", 10 * WORTH_RACES) == "cpu"
    assert engine_for("gpu", 1) == "gpu"
    assert engine_for(None, 10 * WORTH_RACES, kept_by=lambda: "cpu") == "cpu"
