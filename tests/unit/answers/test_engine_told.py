"""Which engine ran a study is told in its answer, and on its page where it was a card."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from simrun.cli import main
from simrun.engine.batch.together import CPU, GPU
from simrun.engine.batch.which_engine import carries_out, last_engine
from simrun.pages.left_out_words import engine_words

DUAL = str(Path(__file__).parents[3] / "scenarios" / "dual_meet.toml")
FEW = ["--seeds", "2", "--workers", "1", "--inputs", "fixed", "--until", "200"]


def test_the_answer_says_which_engine_ran_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """In `--json` always; at the foot of the page only where it was not the processor."""
    words = ["boxes", DUAL, *FEW, "--out", str(tmp_path), "--json"]
    assert main(words) == 0
    assert json.loads(capsys.readouterr().out)["answers"][0]["engine"] == CPU
    page = tmp_path / "boxes.html"
    assert engine_words(GPU) not in page.read_text("utf-8")
    monkeypatch.setattr("simrun.trials.carry_out.carries_out", lambda _: carries_out(GPU))
    assert main(words) == 0
    assert json.loads(capsys.readouterr().out)["answers"][0]["engine"] == GPU
    assert engine_words(GPU) in page.read_text("utf-8")


def test_what_is_no_study_names_none(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Even right after a study."""
    carries_out(GPU)
    assert last_engine() == GPU
    assert main(["check", DUAL, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["answers"][0]["engine"] == ""
