"""Whatever a file holds: it is read, or refused in plain lines. `fuzz.py` makes such files by the hour."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from tests.fuzz.readers import READERS, Reader, outcome

SPOILT = 60


@pytest.mark.parametrize("name", sorted(READERS))
def test_good_files_are_read_and_spoilt_ones_read_or_refused(name: str, tmp_path: Path) -> None:
    """Sixty spoilt files each; most are refused, or nothing was tried."""
    reader, rng = READERS[name], Random(name)
    good = reader.good(tmp_path)
    assert [outcome(reader, tmp_path, data) for data in good] == [""] * len(good)
    said = [outcome(reader, tmp_path, reader.spoil(rng.choice(good), rng)) for _ in range(SPOILT)]
    assert sum(map(bool, said)) > SPOILT / 5


def test_a_reader_that_breaks_is_found(tmp_path: Path) -> None:
    """The check above would also pass if it caught everything."""

    def breaks(folder: Path, data: bytes) -> object:
        return data[10_000]

    with pytest.raises(IndexError):
        outcome(Reader(lambda folder: [b""], lambda data, rng: data, breaks), tmp_path, b"")


@pytest.mark.parametrize("name", ["entries", "results", "boxes"])
def test_a_lone_quotation_mark_between_tabs_is_told_plainly(name: str, tmp_path: Path) -> None:
    """Found by fuzzing: what the reader of columns expected, a tab, went into the message as it was."""
    said = outcome(READERS[name], tmp_path, b'name\tteam\ttime\tbox\n"a" b\tOne\t17:00\t1\n')
    assert "line 2" in said
    assert "quotation marks" in said


@pytest.mark.parametrize("wrong", ["te\x12am", "a\u202eb", "x" * 500])
def test_results_name_an_odd_column_plainly(wrong: str, tmp_path: Path) -> None:
    """Found by fuzzing: the name of a column went into the message as it was."""
    rows = f"{wrong},time\n3:12,15:00\nnonsense,16:00\n"
    said = outcome(READERS["results"], tmp_path, rows.encode())
    assert said.isprintable()
    assert "line 3" in said
    assert len(said) < 300
