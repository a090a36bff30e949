"""Whatever a store says behind a good seal: the page of the answer is made of it, or it is refused in a line.

python -m tests.fuzz.test_store_to_page 300      so many spoilt stores, by hand
"""

from __future__ import annotations

import sqlite3
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import fields, replace
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

import numpy as np
import pytest

from simrun.answers.boxes.run import STORE, run_boxes
from simrun.base.errors import SimrunError
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.trials.races import Outcome, packed, unpacked
from simrun.trials.store import SEAL_BYTES, sealed
from tests.helpers.scenario_text import SMALL
from tests.helpers.spoiling import spoil_array

SEEDS = (1, 2, 3, 4)


def small_day(folder: Path) -> Scenario:
    (folder / "day.toml").write_text(SMALL, "utf-8")
    return read(folder / "day.toml")


def spoilt_outcome(outcome: Outcome, rng: Random) -> Outcome:
    """One or a few of its arrays with odd values; shapes stay, since those are looked at when it is read."""
    names = [
        each.name for each in fields(outcome) if isinstance(getattr(outcome, each.name), np.ndarray)
    ]
    for name in rng.sample(names, rng.choice([1, 1, 3])):
        before = getattr(outcome, name)
        after = spoil_array(before, rng)
        if after.shape == before.shape and after.dtype == before.dtype:
            outcome = replace(outcome, **{name: after})
    return outcome


def spoil(store: Path, rng: Random) -> None:
    """Some of its races changed, and sealed again as if they were sound."""
    base = sqlite3.connect(store)
    for digest, seed, row in base.execute("SELECT digest, seed, outcome FROM races").fetchall():
        if rng.random() < 0.7:
            with np.errstate(all="ignore"):
                blob = packed(spoilt_outcome(unpacked(row[SEAL_BYTES:]), rng))
            again = (sealed(digest, seed, blob), digest, seed)
            base.execute("UPDATE races SET outcome = ? WHERE digest = ? AND seed = ?", again)
    base.commit()
    base.close()


def pages_of(day: Scenario, folder: Path, sound: bytes, times: int, seed: int = 1) -> Iterator[str]:
    """What became of so many spoilt stores: "page", or what was refused."""
    rng = Random(seed)
    for _ in range(times):
        (folder / STORE).write_bytes(sound)
        spoil(folder / STORE, rng)
        try:
            result = run_boxes(day, folder, SEEDS, workers=1)
            assert result.sentence.isprintable()
            files = result.save(folder)
        except SimrunError as refused:
            yield f"{type(refused).__name__}: {refused}"
        else:
            assert all(file.stat().st_size for file in files)
            yield "page"


def sound_store(day: Scenario, folder: Path) -> bytes:
    run_boxes(day, folder, SEEDS, workers=1)
    return (folder / STORE).read_bytes()


@pytest.mark.slow
def test_odd_races_behind_a_good_seal_become_a_page_or_one_line(tmp_path: Path) -> None:
    """Times before the gun, endless ones, boxes that there are not, teams out of range."""
    day = small_day(tmp_path)
    found = list(pages_of(day, tmp_path, sound_store(day, tmp_path), 12))
    assert len(found) == 12
    assert "page" in found


if __name__ == "__main__":
    with TemporaryDirectory() as name:
        here = Path(name)
        some = small_day(here)
        print(Counter(pages_of(some, here, sound_store(some, here), int(sys.argv[1]))))
