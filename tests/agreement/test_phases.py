"""The phases of a batch, stepped on the processor, are those of the kernel to the bit: no card is needed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pytest

from simrun.engine.batch.on_cores import OnCores
from simrun.engine.batch.packing import packed_races, unpack_races
from simrun.engine.batch.together import run_together
from simrun.engine.field import stand_m
from simrun.engine.run import Race, alone_runs, field_of, field_stages, raced_in
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario

pytestmark = pytest.mark.slow
SCENARIOS = Path(__file__).parents[2] / "scenarios"
NOT_SHARED = {"bucket"}
"""Only the kernel has a list of squares."""


def day(name: str, racing: str = "off") -> Scenario:
    """A shipped race day, with or without racing for places."""
    return read(SCENARIOS / f"{name}.toml").changed({"field.racing": racing})


def assert_alike(ours: Race, theirs: Race) -> None:
    """Not one bit differs."""
    for name in set(ours.bodies.dtype.names) - NOT_SHARED:
        np.testing.assert_array_equal(ours.bodies[name], theirs.bodies[name], name)
    for name in ("crossing_s", "reserve_m", "overlap", "raced_sum", "raced_times"):
        np.testing.assert_array_equal(getattr(ours.tape, name), getattr(theirs.tape, name), name)
    np.testing.assert_array_equal(ours.watch.stood_s, theirs.watch.stood_s)


def stepped(make: Callable[[], Sequence[Race]], seconds: float) -> tuple[list[Race], list[Race]]:
    """The same races by the kernel and by the phases."""
    kernel, batch = list(make()), list(make())
    steps = round(seconds / kernel[0].step_s)
    for race in kernel:
        race.advance(steps)
    going = OnCores(packed_races(batch), batch[0].step_s, batch[0].alone)
    going.advance(0, steps)
    unpack_races(going.fetched(), batch)
    return kernel, batch


@pytest.mark.parametrize("racing", ["off", "on"])
@pytest.mark.parametrize("name", ["brindle_fen", "ostrel_common"])
def test_a_field_is_that_of_the_kernel(name: str, racing: str) -> None:
    """With an entry list, with things on the course, with and without racing for places; two in a batch."""
    for ours, theirs in zip(
        *stepped(lambda: [field_of(day(name, racing), s, frames=False) for s in (1, 2)], 30.0),
        strict=True,
    ):
        assert_alike(ours, theirs)


def squeezed() -> Sequence[Race]:
    """A line so short that everybody overlaps with somebody."""
    race = field_of(day("dual_meet"), 1, frames=False)
    middle = race.bodies["y"].mean()
    race.bodies["y"] = middle + 0.3 * (race.bodies["y"] - middle)
    return [race]


def test_a_crowd_in_touch_is_that_of_the_kernel() -> None:
    """Pushed apart and slowed alike, grain by grain."""
    (ours,), (theirs,) = stepped(squeezed, 2.0)
    assert ours.tape.overlap[0] > 0.0
    assert_alike(ours, theirs)


@pytest.mark.parametrize("racing", ["off", "on"])
def test_alone_runs_are_those_of_the_kernel(racing: str) -> None:
    """On every way, the replay of what was raced too."""
    field = field_of(day("brindle_fen", racing), 1, frames=False)
    field.advance(400)
    own = (field.ways.margin_left, field.ways.margin_right)
    stand = stand_m(field.scenario.start_line, field.roster)
    told = (field.scenario, field.roster, stand, own, field.settings, 1)

    def ways() -> Sequence[Race]:
        return alone_runs(*told, racing=raced_in(field)).ways

    for ours, theirs in zip(*stepped(ways, 30.0), strict=True):
        assert_alike(ours, theirs)


def test_marks_of_their_own_are_come_to_as_in_the_kernel() -> None:
    """The races by which openings are found: every round of them, to the last digit of the moments."""
    kernel, batch = (field_stages(day("brindle_fen", "on"), 1, frames=False) for _ in range(2))
    rounds = 0
    for (ours,), (theirs,) in zip(kernel, batch, strict=True):
        ours.run()
        run_together([theirs], hands=OnCores)
        assert np.isfinite(ours.marked_s).all()
        np.testing.assert_array_equal(ours.marked_s, theirs.marked_s)
        rounds += 1
    assert rounds > 1


def test_days_of_other_shapes_go_together() -> None:
    """Two courses and two fields in one call, run to their end, give what each gives by itself."""
    names = ("dual_meet", "brindle_fen")
    kernel, batch = ([field_of(day(name), 1, frames=False) for name in names] for _ in range(2))
    run_together(kernel)
    run_together(batch, hands=OnCores)
    for ours, theirs in zip(kernel, batch, strict=True):
        assert ours.tape.overlap[0] == theirs.tape.overlap[0]
        np.testing.assert_array_equal(ours.tape.crossing_s, theirs.tape.crossing_s)
        np.testing.assert_array_equal(ours.tape.reserve_m, theirs.tape.reserve_m)
        np.testing.assert_array_equal(ours.watch.stood_s, theirs.watch.stood_s)
