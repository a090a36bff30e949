"""Do told and drawn inputs reach a race, its alone-runs and everybody's way in it?"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from simrun.engine.field import settings_for
from simrun.engine.run import Race, alone_runs, field_of
from simrun.laws.settings import settings_of
from simrun.scenario.changes.changes_course import ending_by
from simrun.scenario.changes.changes_inputs import with_inputs, with_inputs_drawn
from simrun.scenario.changes.changes_people import with_racing
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.sources.assumed import assumed_inputs
from simrun.tactics.margins import own_margins, shortest_margins
from simrun.trials.races import crowd_outcome, race_outcome

SCENARIOS = Path(__file__).parents[3] / "scenarios"
ROOM, SWAY = "bend.rounding_room_m", "runner.sway_m"


@pytest.fixture(scope="module")
def fen() -> Scenario:
    return ending_by(read(SCENARIOS / "brindle_fen.toml"), 180.0)


def test_nothing_told_is_the_settings_of_the_figures(fen: Scenario) -> None:
    assert settings_for(fen, 3) == settings_of("runner")


def test_a_told_setting_reaches_the_race_with_and_without_racing(fen: Scenario) -> None:
    told = with_inputs(fen, {SWAY: 0.1})
    for day in (told, with_racing(told)):
        assert field_of(day, 1, frames=False).settings.sway_m == 0.1
    assert field_of(told, 1, frames=False).settings._replace(sway_m=0.05) == settings_of("runner")


def test_drawn_settings_are_those_of_the_seed(fen: Scenario) -> None:
    drawn = with_inputs_drawn(fen)
    found = [field_of(drawn, seed, frames=False).settings for seed in (1, 2, 3)]
    assert found[0] == found[1] != found[2]
    assert found[0].sway_m == drawn.inputs.of_seed(1)[SWAY]


def test_the_room_at_a_corner_reaches_the_ways_and_the_bodies(fen: Scenario) -> None:
    plain = field_of(fen, 1, frames=False)
    told = field_of(with_inputs(fen, {ROOM: 3.0}), 1, frames=False)
    assert np.all(told.runners["room_m"] == 3.0)
    assert not np.array_equal(plain.ways.margin_left, told.ways.margin_left) or not np.array_equal(
        plain.ways.margin_right, told.ways.margin_right
    )


def test_everybody_is_alone_with_the_settings_of_the_race(
    fen: Scenario, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever a study runs for one race of drawn inputs runs with the settings of its seed."""
    seen: list[tuple[bool, object]] = []
    begun = Race.__init__

    def noted(self: Race, *given: object, **options: object) -> None:
        begun(self, *given, **options)  # type: ignore[arg-type]
        room, roster, strip = self.settings.bend_rounding_room_m, self.roster, fen.strip
        ways = own_margins(strip, roster, room), shortest_margins(strip, len(roster), room)
        mine = (self.ways.margin_left, self.ways.margin_right)
        rounded = any(np.array_equal(mine, way) for way in ways)
        seen.append((rounded and bool(self.runners["room_m"][0] == room), self.settings))

    monkeypatch.setattr(Race, "__init__", noted)
    drawn = with_inputs_drawn(fen)
    own = settings_for(drawn, 5)
    for run in (
        lambda: race_outcome(drawn, 5),
        lambda: race_outcome(drawn, 5, "Ellerfold"),
        lambda: crowd_outcome(drawn, 5),
    ):
        seen.clear()
        run()
        assert len(seen) >= 3
        assert seen == [(True, own)] * len(seen)


def test_the_shortest_way_alone_is_rounded_as_in_the_race() -> None:
    """A lone runner's time round a corner moves with the room, so the margins of alone-runs have it too."""
    fen = ending_by(read(SCENARIOS / "brindle_fen.toml"), 300.0)
    times = []
    for room in (0.5, 3.0):
        race = field_of(with_inputs(fen, {ROOM: room}), 1, frames=False)
        own = (race.ways.margin_left, race.ways.margin_right)
        stand = np.stack([race.runners["x"], race.runners["y"]], axis=1)
        alone = alone_runs(race.scenario, race.roster, stand, own, race.settings, box=3).alone()
        mixed = alone_runs(
            race.scenario, race.roster, stand, own, settings_of("runner"), box=3
        ).alone()
        times.append((alone.shortest_s[:, -1].mean(), mixed.shortest_s[:, -1].mean()))
    assert times[0][0] != times[1][0]
    assert times[0][1] == times[1][1]


def test_every_input_told_as_its_figure_says_is_the_same_race(fen: Scenario) -> None:
    own = {key: figure.value for key, figure in assumed_inputs().items()}
    same = with_inputs(fen, own | {"line.inside_share": 0.7})
    assert np.array_equal(
        race_outcome(same, 2).crossing_s, race_outcome(fen, 2).crossing_s, equal_nan=True
    )
