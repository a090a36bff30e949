"""What several tests of answers look at: two race days, and the boxes of the smaller one."""

from __future__ import annotations

from pathlib import Path

import pytest

from simrun.answers.boxes.sample import Sample, every_box
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario

SCENARIOS = Path(__file__).parents[3] / "scenarios"


@pytest.fixture(scope="module")
def dual() -> Scenario:
    """The dual meet, as far as 75 s."""
    return read(SCENARIOS / "dual_meet.toml").changed({"clock.limit": 75})


@pytest.fixture(scope="module")
def ferry() -> Scenario:
    """The farm race as it is shipped."""
    return read(SCENARIOS / "ferry_meadow.toml")


@pytest.fixture(scope="session")
def seeds() -> tuple[int, ...]:
    """Of the races of `sample`: in no order."""
    return (3, 1, 2)


@pytest.fixture(scope="module")
def sample(
    dual: Scenario, seeds: tuple[int, ...], tmp_path_factory: pytest.TempPathFactory
) -> Sample:
    """Every box of the dual meet, drawn again with every seed."""
    return every_box(dual, seeds, tmp_path_factory.mktemp("dual") / "races.db", workers=1)
