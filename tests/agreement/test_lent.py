"""A card that one process holds and others ask for: joined with others or not, a race keeps its bits.

No card is needed: who lends steps the batches on the processor.
"""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from simrun.base.errors import CannotSimulate
from simrun.engine.batch.lent.borrower import Borrower
from simrun.engine.batch.lent.joined import ROWS_OF, joined, part_again
from simrun.engine.batch.lent.lender import Lender
from simrun.engine.batch.lots import Batch
from simrun.engine.batch.on_cores import OnCores
from simrun.engine.batch.packing import packed_races
from simrun.engine.batch.together import run_together, to_the_end
from simrun.engine.run import Race, field_of
from simrun.scenario.reader import read

pytestmark = pytest.mark.slow
SCENARIOS = Path(__file__).parents[2] / "scenarios"


def race(name: str, seed: int) -> Race:
    """A race of ten seconds, about to start."""
    day = read(SCENARIOS / f"{name}.toml").changed({"clock.limit": 10.0})
    return field_of(day, seed, frames=False)


def assert_alike(ours: Race, theirs: Race) -> None:
    """Not one bit differs, but for the kernel's list of squares."""
    for name in set(ours.bodies.dtype.names) - {"bucket"}:
        np.testing.assert_array_equal(ours.bodies[name], theirs.bodies[name], name)
    assert np.abs(ours.bodies["speed"]).max() > 1.0


def _as_wide(rows: Any, others: Any) -> Any:
    """These rows without what a wider race needs."""
    return rows[:, : others.shape[1]] if rows.ndim > 1 else rows


class Counted:
    """Runs batches on the processor and counts the races of each."""

    def __init__(self) -> None:
        self.races: list[int] = []

    def __call__(self, batch: Batch, step_s: float, alone: bool) -> Batch:
        self.races.append(len(batch.lots))
        return to_the_end(OnCores, batch, step_s, alone)


@pytest.fixture
def counted() -> Counted:
    """What the lender has run."""
    return Counted()


@pytest.fixture
def lender(counted: Counted) -> Iterator[Lender]:
    """Somebody who lends, for as long as a test lasts."""
    one = Lender(counted, lambda _: 3)
    yield one
    one.close()


def test_batches_joined_are_every_race_as_it_was() -> None:
    """Other courses, other fields, other widths: each lot finds its own rows."""
    names = [("dual_meet", 1), ("ostrel_common", 1), ("dual_meet", 2)]
    batches = [packed_races([race(*name)]) for name in names]
    whole = joined(batches)
    for number, batch in enumerate(batches):
        lot, alone = whole.lots[number], batch.lots[0]
        for begins, rows in ROWS_OF.items():
            first, count = lot[begins], alone[begins.removesuffix("_at")]
            ours, theirs = getattr(batch, rows), getattr(whole, rows)[first : first + count]
            np.testing.assert_array_equal(ours[:count], _as_wide(theirs, ours), rows)
        np.testing.assert_array_equal(
            batch.gives_m, whole.gives_m[number : number + 1, : lot["cuts"]]
        )
    whole.crossing_s[:] = np.arange(len(whole.crossing_s))[:, None]
    whole.lots["over"] = 1
    part_again(whole, batches)
    at = np.concatenate([batch.crossing_s[:, 0] for batch in batches])
    np.testing.assert_array_equal(at, np.arange(len(at)))
    assert all((batch.lots["over"] == 1).all() for batch in batches)
    assert batches[2].lots["runners_at"][0] == 0


def test_who_asks_together_gets_what_each_would_get_alone(lender: Lender, counted: Counted) -> None:
    """Three ask at once, each twice, the second time for more than the memory that it had."""
    asked = [[("dual_meet", 1)], [("dual_meet", 2)], [("brindle_fen", 1)]]

    def ask(names: list[Any]) -> list[Race]:
        hands = Borrower(lender.address, lender.key)
        found = []
        for some in (names, [*names, ("ostrel_common", 1)]):
            found = [race(*name) for name in some]
            run_together(found, hands=hands)
        hands.segment.close()
        return found

    with ThreadPoolExecutor(3) as threads:
        together = list(threads.map(ask, asked))
    assert max(counted.races) > 1
    for names, found in zip(asked, together, strict=True):
        for name, theirs in zip([*names, ("ostrel_common", 1)], found, strict=True):
            assert_alike(race(*name).run(), theirs)


def test_a_card_that_fails_is_told_to_who_waits() -> None:
    """Not waited for without end; and the next who asks is told as well."""

    def fails(batch: Batch, step_s: float, alone: bool) -> Batch:
        raise MemoryError("no room on the card")

    lender = Lender(fails, lambda _: 3)
    hands = Borrower(lender.address, lender.key)
    for _ in range(2):
        with pytest.raises(CannotSimulate, match="no room on the card"):
            run_together([race("dual_meet", 1)], hands=hands)
    hands.segment.close()
    lender.close()


def test_the_hands_of_the_proof_take_other_batches_as_they_come() -> None:
    """`to_the_end` stops at the limit where nobody comes to the last checkpoint."""
    found = [race("dual_meet", 1)]
    run_together(found, hands=partial(OnCores))
    assert found[0].steps_done == found[0].last_step
