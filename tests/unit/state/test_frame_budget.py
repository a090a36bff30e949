"""Too many frames are told before the gun, with what to change; what may be run can be read again."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import simrun
from simrun.base.errors import BadInput
from simrun.cli import main
from simrun.engine.run import run_race
from simrun.state.frame_budget import LARGEST_UNPACKED_BYTES, MOST_PLACES, check_frames, too_large
from simrun.state.recording_file import _packed_positions

TOP = Path(__file__).parents[3]
DUAL = str(TOP / "scenarios" / "dual_meet.toml")

BYTES_IN_A_FILE = 8
"""Of a runner and frame: two steps in centimetres, two speeds, two bytes each."""


def test_what_may_be_run_may_be_read() -> None:
    """A file of the most places leaves room for all else that stands in it."""
    frames = _packed_positions(np.zeros((11, 3, 2), np.float32))
    speeds = 2 * 10 * 3 * np.dtype(np.int16).itemsize
    assert frames["moved"].nbytes + speeds == 10 * 3 * BYTES_IN_A_FILE
    assert MOST_PLACES * BYTES_IN_A_FILE < 0.9 * LARGEST_UNPACKED_BYTES
    assert too_large(LARGEST_UNPACKED_BYTES) == ""
    assert "a longer frame_s or a shorter limit" in too_large(LARGEST_UNPACKED_BYTES + 1)


@pytest.mark.parametrize(
    ("limit_s", "frame_s", "step_s", "runners"),
    [(7200, 0.01, 0.01, 1200), (7200, 0.05, 0.05, 1000), (3600, 0.1, 0.05, 9000)],
)
def test_what_is_told_to_change_is_enough(
    limit_s: float, frame_s: float, step_s: float, runners: int
) -> None:
    """Either change alone; and a step less of either is not."""
    with pytest.raises(BadInput) as caught:
        check_frames(limit_s, frame_s, step_s, runners)
    wider_s, shorter_s = (
        float(n) for n in re.findall(r"frame_s = (\S+) or more, or a limit of (\d+) s", str(caught.value))[0]
    )  # fmt: skip
    check_frames(limit_s, wider_s, step_s, runners)
    check_frames(shorter_s, frame_s, step_s, runners)
    for wrong in ((limit_s, wider_s - step_s), (shorter_s + 2, frame_s)):
        with pytest.raises(BadInput):
            check_frames(*wrong, step_s, runners)


def test_it_is_told_before_the_gun(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """One line that names the file, and no folder."""
    monkeypatch.setattr("simrun.state.frame_budget.MOST_PLACES", 10_000)
    assert main(["race", DUAL, "--out", str(tmp_path / "out")]) == 2
    told = capsys.readouterr().err
    assert told.count("\n") == 1
    assert told.startswith(f"simrun: {DUAL}: clock.frame_s: ")
    assert not (tmp_path / "out").exists()
    with pytest.raises(BadInput, match=r"clock\.frame_s"):
        simrun.race(simrun.read(DUAL))


def test_a_race_without_frames_has_no_such_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    """Studies keep times alone."""
    monkeypatch.setattr("simrun.state.frame_budget.MOST_PLACES", 10)
    assert len(run_race(simrun.read(DUAL).changed({"clock.limit": 1}), frames=False).times_s) == 0


def test_too_little_memory_is_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Whatever the budget allows, this machine may have less."""

    def nothing_left(*_: Any, **__: Any) -> Any:
        raise MemoryError

    monkeypatch.setattr("simrun.answers.race.run.run_one", nothing_left)
    assert main(["race", DUAL, "--out", str(tmp_path)]) == 2
    told = capsys.readouterr().err
    assert told.count("\n") == 1
    assert "needs more memory than the machine has left" in told
