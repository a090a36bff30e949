"""The finish by hand: places, what was lost at the start and what became of it."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
import pytest

import simrun
from simrun.answers.finish.finish_ranges import our_ranges, team_ranges
from simrun.answers.finish.run import run_finish
from simrun.answers.finish.words import Told, racing_sentence, sentence_of, unscored_words
from simrun.answers.race.finish_words import finish_text
from simrun.measure.finish import carried, finish_table, reaches_finish, start_mark, team_table
from simrun.pages.numbers import ordinal
from simrun.scenario.reader import read
from simrun.trials.races import outcome_of
from simrun.trials.statistics import estimate
from tests.helpers.worlds import SHARP_TURN, scenario_of

NAN = float("nan")


def race(*marks_m: float) -> Any:
    """Three runners of two teams; marks at 100 m, 500 m and the finish unless told otherwise."""
    marks = [SimpleNamespace(name=f"{at:g} m", station_m=at) for at in marks_m or (100, 500, 1000)]
    roster = SimpleNamespace(
        name=("Ada", "Bea", "Cis"), team=np.array(["Elm", "Oak", "Oak"]), box=np.array([1, 2, 2])
    )
    return SimpleNamespace(
        roster=roster,
        strip=SimpleNamespace(checkpoints=marks, length_m=1000.2),
        crossing_s=np.array([[20.0, 110.0, 205.0], [25.0, 105.0, 200.0], [21.0, 107.0, NAN]]),
        alone_s=np.array([[19.0, 100.0, 201.0], [20.0, 104.0, 199.0], [20.0, 103.0, 220.0]]),
        shortest_s=np.array([[18.0, 98.0, 197.0]] * 3),
        best_s=np.array([[17.0, 97.0, 196.0]] * 3),
        reserve_m=np.array([[90.0, 80.0, 10.0], [90.0, 70.0, 0.0], [90.0, 70.0, NAN]]),
        alone_reserve_m=np.array([[90.0, 75.0, 15.0], [90.0, 70.0, 0.0], [90.0, 70.0, 0.0]]),
    )


def test_the_start_is_over_at_the_first_mark_from_400_m_on() -> None:
    """500 m here; where all marks lie before 400 m the last of them, the finish never."""
    assert start_mark(race().strip) == 1
    assert start_mark(race(100, 300, 1000).strip) == 1
    assert start_mark(race(100, 1000).strip) == 0


@pytest.mark.parametrize(
    ("marks_m", "told"), [((100, 1000), True), ((100, 900), False), ((1000,), False)]
)
def test_a_race_that_stops_before_the_finish_has_none(marks_m: tuple, told: bool) -> None:
    """Half a metre short is the finish, a hundred are not; one mark alone says nothing of a start."""
    assert reaches_finish(race(*marks_m).strip) is told


def test_the_table_by_hand() -> None:
    """Ada lost 110 - 100 and 1 of box at 500 m, and 205 - 201 and 1 at the finish: 6 s are made up; she spent
    70 m where 60 are spent alone."""
    table = finish_table(race())
    assert table["runner"].tolist() == ["Bea", "Ada", "Cis"]
    assert table["place"].tolist()[:2] == [1, 2]
    assert table["place"].isna()[2]
    ada = table.iloc[1]
    assert (ada["start_place"], ada["start_lost_s"], ada["lost_s"]) == (3, 11.0, 5.0)
    assert (ada["made_up_s"], ada["paid_m"]) == (6.0, 10.0)


def test_the_thirds_count_who_finished() -> None:
    """Two finishers, one who lost little and one who lost most; the third runner is in no mean."""
    thirds = carried(finish_table(race()))
    assert thirds["runners"].sum() == 2
    assert thirds["made_up_s"].tolist() == [0.0, 6.0]
    assert thirds["lost_at_start"].tolist() == ["least", "middle"]


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Any:
    scenario = scenario_of(SHARP_TURN, tmp_path_factory.mktemp("finish"))
    marks = [{"name": "corner", "at": 400}, {"name": "finish", "at": scenario.strip.length_m}]
    return simrun.race(scenario.changed({"course.checkpoints": marks}), seed=2)


def test_the_page_of_a_race(recording: Any) -> None:
    """The winner, our seven, the scores and the three thirds; the sums of a team's places are its points."""
    finish, teams = finish_table(recording), team_table(recording)
    tables = {"finish": finish, "teams": teams, "carried": carried(finish)}
    page = finish_text(recording, tables)
    assert finish["runner"][0] in page
    assert page.count("Alderbrook") >= 8
    for row in teams.to_dict("records"):
        assert sum(map(int, row["scorers"].split())) == row["points"]
    assert all(word in page for word in ("least", "middle", "most"))
    assert "-0.0" not in page


def test_ranges_over_races_hold_each_race(recording: Any) -> None:
    """Of two races that are one and the same the range has no width and the wins are whole."""
    scenario = recording.scenario
    outcomes = [outcome_of(recording)] * 2
    teams = team_ranges(outcomes, [team.name for team in scenario.teams])
    expected = team_table(recording).set_index("team")["points"]
    assert (teams["points_low"] == teams["points_high"]).all()
    assert teams.set_index("team")["points_mean"].to_dict() == expected.to_dict()
    assert teams["wins_share"].sum() == 1.0
    ours = our_ranges(outcomes, scenario)
    places = finish_table(recording).query("team == 'Alderbrook'")["place"].tolist()
    assert ours["place_low"].tolist() == places


ROW = {"races": 20, "points_mean": 64.0, "points_low": 58.2, "points_high": 71.4}
ROW |= {"rank_low": 2.0, "rank_high": 4.0, "wins_share": 0.15}


@pytest.mark.parametrize(
    ("changes", "races", "said"),
    [
        (
            {},
            20,
            "places 2nd to 4th with 58 to 71 points in eight races out of ten, and wins 3 of 20.",
        ),
        ({"rank_high": 2.0, "wins_share": 0.0}, 20, "places 2nd with 58 to 71 points"),
        ({"wins_share": 0.0}, 20, "and wins none of 20."),
        ({"wins_share": 1.0}, 20, "and wins all 20."),
        ({"races": 17}, 20, "(of the 17 in which it had five at the finish), and wins 3 of 20."),
        ({"races": 1, "rank_low": 11.0}, 1, "In one race Elm places 11th with 58 points."),
        ({"races": 0}, 20, "Elm never had five runners at the finish in 20 races."),
    ],
)
def test_the_sentence_says_places_points_and_wins(
    changes: dict[str, float], races: int, said: str
) -> None:
    """Ordinals, one value where both ends are one, and the races without a score named."""
    teams = pd.DataFrame([{"team": "Oak", **ROW}, {"team": "Elm", **ROW, **changes}])
    day: Any = SimpleNamespace(our_team="Elm")
    assert said in sentence_of(Told(day, races, {"finish_teams": teams}))


def test_without_a_team_of_ours_the_best_is_told() -> None:
    """The first row, which has the fewest points."""
    teams = pd.DataFrame([{"team": "Oak", **ROW}, {"team": "Elm", **ROW}])
    day: Any = SimpleNamespace(our_team=None)
    assert sentence_of(Told(day, 20, {"finish_teams": teams})).startswith("Oak places 2nd to 4th")


def test_who_is_left_out_of_the_ranges_is_said() -> None:
    """A team without a score in some races is named with how many it scored in; none, no words."""
    teams = pd.DataFrame([{"team": "Oak", **ROW}, {"team": "Elm", **ROW, "races": 17}])
    day: Any = SimpleNamespace(our_team="Elm")
    told = Told(day, 20, {"finish_teams": teams})
    assert "of 20: Elm (17)." in unscored_words(told)
    assert unscored_words(Told(day, 20, {"finish_teams": teams[:1]})) == ""


@pytest.mark.parametrize(
    ("place", "said"),
    [(1, "1st"), (2.4, "2nd"), (3, "3rd"), (11, "11th"), (21, "21st"), (NAN, "-")],
)
def test_a_place_is_said_as_a_place(place: float, said: str) -> None:
    assert ordinal(place) == said


def test_a_race_day_whose_own_checkpoints_end_early_is_run_to_its_finish(tmp_path: Path) -> None:
    """The last checkpoint lies 361 m on, the finish behind it: everybody is timed at the finish."""
    scenario = scenario_of(SHARP_TURN, tmp_path)
    assert scenario.strip.checkpoints[-1].station_m < scenario.strip.length_m - 50
    found = run_finish(scenario, tmp_path / "out", (1,), workers=1)
    last = found.day.strip.checkpoints[-1]
    assert last.station_m == pytest.approx(found.day.strip.length_m, abs=0.05)
    assert found.tables["finish_teams"]["points_mean"].notna().any()


def test_what_racing_made_of_our_times_is_said_with_its_range() -> None:
    """Seen or not, slower or faster, in one race; nothing where nobody races."""
    day = read(Path(__file__).parents[3] / "scenarios" / "dual_meet.toml")
    teams = pd.DataFrame({"team": ["Oak"]})

    def said(values: list[float] | None) -> str:
        racing = None if values is None else estimate(values)
        return racing_sentence(Told(day, 3, {"finish_teams": teams}, racing=racing))

    assert said(None) == ""
    assert said([np.nan]) == ""
    assert said([2.0]) == "Racing added 2.0 s a runner by the finish."
    assert said([-2.0]) == "Racing won 2.0 s a runner by the finish."
    assert said([2.0, 2.2, 2.4]).startswith("Racing makes our runners between 1.7 and 2.7 s slower")
    assert said([-2.0, -2.2, -2.4]).endswith("s faster by the finish.")
    assert said([-1.0, 0.0, 1.0]) == "Racing makes no difference that we can see to our times."
