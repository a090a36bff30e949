"""Is a file there whole or not at all, and is a refusal told in one line?"""

from __future__ import annotations

import errno
import os
import re
import threading
from pathlib import Path

import pytest

from simrun.base.errors import CannotWrite
from simrun.base.writing import ready_folder, write_text, written_beside, written_together


def spoiled(target: Path, mishap: BaseException) -> None:
    """Begin to write the file anew, and come to grief in the middle of it."""
    with written_beside(target) as beside:
        beside.write_text("half of the new")
        raise mishap


def write_set(folder: Path, text: str, stopped: bool = False) -> None:
    """Two files that belong together."""
    with written_together(folder) as beside:
        write_text(beside / "loss.csv", text)
        write_text(beside / "boxes.csv", text)
        if stopped:
            raise KeyboardInterrupt


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_the_file_appears_only_when_it_is_whole(tmp_path: Path) -> None:
    target = tmp_path / "loss.csv"
    with written_beside(target) as beside:
        beside.write_text("half")
        assert not target.exists()
        assert beside.parent == tmp_path, "moving is whole only within one folder"
        assert beside.suffix == ".csv", "writers look at the ending"
        beside.write_text("whole")
    assert target.read_text() == "whole"
    assert names(tmp_path) == ["loss.csv"]


def test_folders_are_made(tmp_path: Path) -> None:
    path = write_text(tmp_path / "a" / "b" / "page.txt", "words")
    assert path.read_text() == "words"


@pytest.mark.parametrize("mishap", [ValueError, KeyboardInterrupt, MemoryError])
def test_after_a_mishap_the_old_file_stands_and_nothing_is_left(
    mishap: type[BaseException], tmp_path: Path
) -> None:
    """Also when somebody presses stop in the middle of it. The mishap itself goes on."""
    target = write_text(tmp_path / "race.gif", "old")
    with pytest.raises(mishap):
        spoiled(target, mishap())
    assert target.read_text() == "old"
    assert names(tmp_path) == ["race.gif"]


def test_a_full_disk_is_told(tmp_path: Path) -> None:
    target = write_text(tmp_path / "race.gif", "old")
    with pytest.raises(CannotWrite) as told:
        spoiled(target, OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)))
    assert str(told.value) == f"{target}: cannot be written: {os.strerror(errno.ENOSPC)}"
    assert target.read_text() == "old"
    assert names(tmp_path) == ["race.gif"]


def test_what_refuses_is_named(tmp_path: Path) -> None:
    """A file where a folder is needed, and a folder where the file should go."""
    (tmp_path / "page").write_text("a file")
    with pytest.raises(CannotWrite, match=r"page.loss\.csv: cannot be written: .+"):
        write_text(tmp_path / "page" / "loss.csv", "")
    (tmp_path / "loss.csv").mkdir()
    with pytest.raises(CannotWrite, match=r"loss\.csv: cannot be written: .+"):
        write_text(tmp_path / "loss.csv", "")
    assert names(tmp_path) == ["loss.csv", "page"]


def test_text_is_the_same_on_every_machine(tmp_path: Path) -> None:
    """UTF-8 and plain line ends, whatever the machine is used to."""
    path = write_text(tmp_path / "boxes.csv", "name\nÅsa Ström\n")
    assert path.read_bytes() == "name\nÅsa Ström\n".encode()


def test_two_at_once_do_not_mix(tmp_path: Path) -> None:
    """Each writes beside in a file of its own; the last to be whole stands."""
    target = tmp_path / "loss.csv"
    with written_beside(target) as first, written_beside(target) as second:
        assert first != second
        first.write_text("first")
        second.write_text("second")
    assert target.read_text() == "first"
    assert names(tmp_path) == ["loss.csv"]


def test_a_set_of_files_arrives_together_or_not_at_all(tmp_path: Path) -> None:
    """Two at once: the set of the last to end; one that breaks off: what was there."""
    with written_together(tmp_path) as first:
        write_text(first / "loss.csv", "first")
        write_set(tmp_path, "second")
        write_text(first / "boxes.csv", "first")
        assert {file.read_text() for file in tmp_path.glob("*.csv")} == {"second"}
    assert {file.read_text() for file in tmp_path.iterdir()} == {"first"}
    with pytest.raises(KeyboardInterrupt):
        write_set(tmp_path, "third", stopped=True)
    assert {file.read_text() for file in tmp_path.iterdir()} == {"first"}
    assert names(tmp_path) == ["boxes.csv", "loss.csv"]


def test_a_set_that_is_refused_names_the_place_and_leaves_nothing(tmp_path: Path) -> None:
    (tmp_path / "loss.csv").mkdir()
    with pytest.raises(CannotWrite, match=f"^{re.escape(str(tmp_path))}: cannot"):
        write_set(tmp_path, "text")
    assert names(tmp_path) == ["loss.csv"]


def test_a_reader_never_meets_half_a_file(tmp_path: Path) -> None:
    target, whole = tmp_path / "loss.csv", ["1" * 200_000, "2" * 200_000]
    write_text(target, whole[0])
    seen, stop = set(), threading.Event()

    def look() -> None:
        while not stop.is_set():
            seen.add(target.read_text())

    reader = threading.Thread(target=look)
    reader.start()
    for n in range(60):
        write_text(target, whole[n % 2])
    stop.set()
    reader.join()
    assert seen <= set(whole)


def test_a_folder_is_tried_before_long_work(tmp_path: Path) -> None:
    folder = ready_folder(tmp_path / "outputs" / "meet")
    assert folder.is_dir()
    assert names(folder) == []
    (tmp_path / "file").write_text("")
    with pytest.raises(CannotWrite, match="file"):
        ready_folder(tmp_path / "file")


@pytest.mark.skipif(
    not hasattr(os, "getuid") or os.getuid() == 0, reason="rights do not bind the superuser"
)
def test_a_folder_without_rights_is_told(tmp_path: Path) -> None:
    (tmp_path / "locked").mkdir(mode=0o500)
    with pytest.raises(CannotWrite, match="locked"):
        ready_folder(tmp_path / "locked")
