"""An obstacle on the start line: refused where a box is run from, raced where that box is left empty."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

import simrun
from simrun.base.errors import BadInput
from tests.helpers import ostrel_common

TOP = Path(__file__).parents[3]


def drawn_with_tree(folder: Path, monkeypatch: pytest.MonkeyPatch, left_m: float) -> Path:
    """The shipped common, its ring of stakes on the start line so far left of the middle."""
    shutil.copy(TOP / "scenarios" / "ostrel_common.toml", folder)
    whole = ostrel_common.ring
    monkeypatch.setattr(ostrel_common, "ring", lambda station_m, aside: whole(0.5, left_m))
    text = ostrel_common.ostrel_common()
    assert json.loads(text)
    (folder / "ostrel_common.geojson").write_text(text, encoding="utf-8")
    return folder / "ostrel_common.toml"


def test_an_obstacle_in_a_box_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The ring is 2 m across and the boxes are 3 m wide: the one that it stands in is named."""
    path = drawn_with_tree(tmp_path, monkeypatch, left_m=1.5)
    with pytest.raises(BadInput, match="'tree ring': stands where box 16 starts"):
        simrun.read(path)


def test_a_box_left_empty_makes_room(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody stands there, so the same drawing is raced."""
    path = drawn_with_tree(tmp_path, monkeypatch, left_m=1.5)
    text = path.read_text("utf-8")
    assert "[start]\n" in text
    path.write_text(text.replace("[start]\n", "[start]\nempty = [16]\n"), encoding="utf-8")
    scenario = simrun.read(path)
    assert tuple(thing.name for thing in scenario.strip.obstacles) == ("tree ring",)
    assert 16 not in scenario.roster(1).box
