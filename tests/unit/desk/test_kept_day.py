"""A file changed step by step: undone, done again, never overwritten where somebody else was quicker."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from simrun.base.errors import BadInput, CannotWrite
from simrun.desk.kept_day import ChangedElsewhere, KeptDay, NoStep
from tests.helpers.desks import Asker, folder_with


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return folder_with(tmp_path, "brindle_fen") / "brindle_fen.toml"


def test_steps_are_undone_and_done_again(file: Path) -> None:
    """Each step is the text before and after; a new one forgets those that were undone."""
    kept, first = KeptDay(file), file.read_text("utf-8")
    for tilt in (1.0, 2.0):
        kept.change(kept.digest, [(("start", "tilt"), tilt)])
    second = file.read_text("utf-8")
    kept.undo(kept.digest)
    kept.undo(kept.digest)
    assert file.read_text("utf-8") == first
    with pytest.raises(NoStep):
        kept.undo(kept.digest)
    kept.redo(kept.digest)
    kept.redo(kept.digest)
    assert file.read_text("utf-8") == second
    kept.undo(kept.digest)
    kept.change(kept.digest, [(("start", "tilt"), 7.0)])
    with pytest.raises(NoStep):
        kept.redo(kept.digest)


def test_two_tabs_do_not_overwrite_each_other(file: Path) -> None:
    """Who shows an older text is told; the file stays the other's."""
    kept = KeptDay(file)
    seen = kept.digest
    kept.change(seen, [(("start", "tilt"), 1.0)])
    with pytest.raises(ChangedElsewhere):
        kept.change(seen, [(("start", "tilt"), 2.0)])
    assert kept.day().start.tilt_deg == 1.0


def test_a_file_changed_by_hand_is_noticed_and_can_be_undone(file: Path) -> None:
    """What an editor wrote is a step like any other."""
    kept, first = KeptDay(file), file.read_text("utf-8")
    seen = kept.digest
    file.write_text(first.replace('width = "36 m"', 'width = "35 m"'), encoding="utf-8")
    with pytest.raises(ChangedElsewhere):
        kept.change(seen, [(("start", "tilt"), 2.0)])
    kept.undo(kept.digest)
    assert file.read_text("utf-8") == first


def test_what_could_not_be_read_again_is_not_written(file: Path) -> None:
    """A box too many for the line: one line of what is wrong, and the file as it was."""
    kept, first = KeptDay(file), file.read_text("utf-8")
    with pytest.raises(BadInput, match=r"start\.boxes: 30 boxes"):
        kept.change(kept.digest, [(("start", "boxes"), 30)])
    assert file.read_text("utf-8") == first


def test_a_full_disk_leaves_the_file_whole(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The move into place fails: the old text stands, nothing lies beside it, and the step is not counted."""
    kept, first = KeptDay(file), file.read_text("utf-8")
    names = {path.name for path in file.parent.iterdir()}

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(CannotWrite, match="No space left"):
        kept.change(kept.digest, [(("start", "tilt"), 2.0)])
    monkeypatch.undo()
    assert file.read_text("utf-8") == first
    assert kept.steps == (0, 0)
    assert {path.name for path in file.parent.iterdir()} == names


def test_a_file_that_cannot_be_read_is_shown_with_what_is_wrong(file: Path) -> None:
    """The page opens, says so, and undo brings the last whole text back."""
    desk = Asker(file.parent)
    _, day = desk.get("day", "file=brindle_fen.toml")
    first = file.read_text("utf-8")
    file.write_text(first.replace("front_row = 3", "front_row = many"), encoding="utf-8")
    status, shown = desk.get("day", "file=brindle_fen.toml")
    assert status == 200
    assert "front_row = many" in shown["wrong"][0]
    status, shown = desk.post("undo", file="brindle_fen.toml", digest=shown["digest"])
    assert (status, shown["digest"]) == (200, day["digest"])
    assert file.read_text("utf-8") == first


def test_a_race_of_the_day_is_shown_and_changed(file: Path) -> None:
    """What the race says itself is changed there, the rest for all; lost by undo, the first one is shown."""
    kept, first = KeptDay(file), file.read_text("utf-8")
    kept.name_races(kept.digest, ["Girls", "Boys", ""])
    assert kept.races() == ["Girls", "Boys"]
    text = file.read_text("utf-8").replace('name = "Boys"', 'name = "Boys"\nstart = { tilt = 2.0 }')
    file.write_text(text, encoding="utf-8")
    before = kept.digest
    kept.choose("Boys")
    assert kept.day().start.tilt_deg == 2.0
    with pytest.raises(ChangedElsewhere):
        kept.change(before, [(("start", "tilt"), 9.0)])
    kept.change(kept.digest, [(("start", "tilt"), 3.0), (("start", "gun"), "right")])
    assert kept.day().start.tilt_deg == 3.0
    kept.choose("Girls")
    assert (kept.day().start.tilt_deg, kept.day().start.gun) == (0.0, "right")
    kept.name_races(kept.digest, ["Girls"])
    assert kept.races() == ["Girls"]
    for _ in range(4):
        kept.undo(kept.digest)
    assert (file.read_text("utf-8"), kept.day().name, kept.race) == (
        first,
        "Brindle Fen girls' race",
        "",
    )
    with pytest.raises(BadInput, match="a race of this day"):
        kept.choose("Girls")
