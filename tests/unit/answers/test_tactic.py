"""Orders to a team, what they are worth, and where a pay-off curve bends: by hand and against the kernel."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from simrun.answers.tactic.orders import (
    EVEN_PACE,
    RIVALS,
    Order,
    fronts_of,
    gate_of,
    race_day,
    stages_of,
    stake_of,
    the_team,
    told,
    turns_of,
    with_our_people,
)
from simrun.answers.tactic.search.bench import PRESENT, Bench, rivals_of
from simrun.answers.tactic.search.choices import choice_of, settled_choice
from simrun.answers.tactic.search.splits import our_splits_s, rivals_split_s
from simrun.answers.tactic.search.tactic_score import knee, scored
from simrun.answers.tactic.search.tactic_steps import _checked, _curve, _openings_and_lines
from simrun.answers.tactic.tactic_found import PLAN
from simrun.base.errors import BadInput
from simrun.engine.run import run_race
from simrun.runners.streams import point_number
from simrun.scenario.changes.changes_inputs import with_inputs_as
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario
from simrun.trials.how_sure import judge_of
from simrun.trials.races import outcome_of
from simrun.trials.statistics import paired
from simrun.trials.store import Store

SCENARIOS = Path(__file__).parents[3] / "scenarios"


@pytest.fixture(scope="module")
def dual() -> Scenario:
    return read(SCENARIOS / "dual_meet.toml")


@pytest.fixture(scope="module")
def named(dual: Scenario) -> Scenario:
    return with_our_people(dual, "Millbrook")


def test_our_people_are_the_same_in_every_seed(dual: Scenario, named: Scenario) -> None:
    """Named with the times of the first seed, fastest first; the others are drawn as before."""
    people = the_team(named, "Millbrook").people
    assert [p.time_s for p in people] == sorted(p.time_s or 0 for p in people)
    for seed in (1, 7):
        roster, before = named.roster(seed), dual.roster(seed)
        ours = roster.team == "Millbrook"
        assert np.allclose(5000 / roster.cruise_m_s[ours], [p.time_s for p in people])
        assert (roster.cruise_m_s[~ours] == before.cruise_m_s[~ours]).all()
        assert (roster.radius_m == before.radius_m).all()


def test_who_is_named_on_paper_keeps_what_was_said(dual: Scenario) -> None:
    """A named runner's time and opening stay; only the rest are drawn."""
    paper = dual.changed(
        {"teams.Millbrook.people": [{"name": "Aro Fen", "time": "18:00", "opening": 0.2}]}
    )
    people = the_team(with_our_people(paper, "Millbrook"), "Millbrook").people
    assert (people[0].name, people[0].time_s, people[0].opening) == ("Aro Fen", 1080.0, 0.2)
    assert len(people) == 10
    assert all(p.time_s for p in people)


def test_an_order_replaces_the_papers_own(named: Scenario) -> None:
    """Opening, line and front row as told, the outside of the paper gone, and nobody else moved."""
    people = [p.name for p in the_team(named, "Millbrook").people]
    order = Order({name: 0.01 * i for i, name in enumerate(people)}, {"mill corner": "inside"})
    arm = told(named, "Millbrook", replace(order, front=tuple(people[3:7])))
    before, after = named.roster(3), arm.roster(3)
    ours = after.team == "Millbrook"
    assert after.opening[ours].tolist() == pytest.approx([0.01 * i for i in range(10)])
    assert set(after.line[ours]) == {"inside"}
    assert set(before.line[ours]) == {"outside"}
    assert sorted(np.array(after.name)[ours & (after.row == 1)]) == sorted(people[3:7])
    for column in ("cruise_m_s", "opening", "line", "row", "box"):
        assert (getattr(after, column)[~ours] == getattr(before, column)[~ours]).all()


def test_front_rows_offered(dual: Scenario, named: Scenario) -> None:
    """Neighbours by time: fastest, middle, slowest; one entry where everybody fits."""
    fronts = fronts_of(named, "Millbrook")
    assert list(fronts) == [
        "our 4 fastest in front",
        "our 4 to 7 in front",
        "our 4 slowest in front",
    ]
    assert all(len(front) == 4 for front in fronts.values())
    few = with_our_people(dual.changed({"field.runners": 4}), "Millbrook")
    assert list(fronts_of(few, "Millbrook")) == ["all in the front row"]


def test_turns_after_the_last_checkpoint_are_not_ordered(dual: Scenario) -> None:
    """Only the turns that a race to the last checkpoint comes to."""
    assert turns_of(dual) == ["mill corner"]
    short = dual.changed({"course.checkpoints": [{"name": "gate", "at": "140 yd"}]})
    assert turns_of(short) == []


def test_unknown_team_gives_the_nearest_name(dual: Scenario) -> None:
    with pytest.raises(BadInput, match="did you mean 'Millbrook'"):
        the_team(dual, "Millbrok")
    with pytest.raises(BadInput, match="ours = true"):
        the_team(dual.changed({"teams.Millbrook.ours": False}), None)


def test_a_plan_is_raced_to_the_finish_for_places(dual: Scenario) -> None:
    """Racing on, the last mark the finish, timed where the opening ends: once, also where a mark is there."""
    day = race_day(dual, "Millbrook")
    assert day.field.racing == "on"
    marks = [(mark.name, mark.station_m) for mark in day.strip.checkpoints]
    assert marks[-1][1] == pytest.approx(day.strip.length_m, abs=0.5)
    name, at_m = marks[stake_of(day, "Millbrook")]
    assert (name, at_m) == ("150 yd stake", pytest.approx(137.16, abs=0.01))
    assert marks[gate_of(day)][0] == "gate"
    there = dual.changed({"field.opening_for": "140 yd"})
    again = race_day(there, "Millbrook").strip.checkpoints
    assert len(again) == len(marks) - 1
    assert again[stake_of(race_day(there, "Millbrook"), "Millbrook")].name == "gate"


def test_where_to_sit_and_go_is_of_the_course() -> None:
    """The farm race: an even pace, landmarks of the second part, the boardwalk of lap two to the next one."""
    day = race_day(read(SCENARIOS / "ferry_meadow.toml"), "Alderbrook")
    stages = stages_of(day, "Alderbrook")
    assert next(iter(stages)) == EVEN_PACE
    marks = {mark.name: mark.station_m for mark in day.strip.landmarks}
    for one in list(stages.values())[1:]:
        assert one.go_m == pytest.approx(marks.get(one.go, one.go_m))
        assert 0.4 * day.strip.length_m <= one.go_m <= 0.95 * day.strip.length_m
    (sit,) = [one for one in stages.values() if one.sit]
    assert sit.sit == "boardwalk"
    assert 0.0 < sit.go_m - sit.sit_m < 200.0
    arm = told(day, "Alderbrook", Order(0.1, stages=sit)).roster(2)
    ours = arm.team == "Alderbrook"
    assert set(arm.sit_m[ours]) == {sit.sit_m}
    assert set(arm.move_m[ours]) == {sit.go_m}
    assert np.isinf(arm.move_m[~ours]).all()


def test_every_order_reaches_people_of_an_entry_list() -> None:
    """Openings, lines at turns, front rows, ways to sit and go: each another line-up of our seven, and of
    nobody else. Their races are told apart in tests/journeys/test_what_people_have.py.
    """
    day = race_day(read(SCENARIOS / "brindle_fen.toml"), "Ellerfold")
    plain = Order(0.12, dict.fromkeys(turns_of(day), "inside"))
    orders = [replace(plain, opening=o) for o in (0.0, 0.06, 0.18)]
    orders += [replace(plain, lines={**plain.lines, turn: "outside"}) for turn in turns_of(day)]
    orders += [replace(plain, front=front) for front in fronts_of(day, "Ellerfold").values()]
    orders += [replace(plain, stages=stages) for stages in stages_of(day, "Ellerfold").values()]
    columns = ("opening", "inside_m", "row", "file", "sit_m", "move_m")
    seen, others = set(), set()
    for order in orders:
        roster = told(day, "Ellerfold", order).roster(1)
        ours = roster.team == "Ellerfold"
        for rows, found in ((ours, seen), (~ours, others)):
            found.add(b"".join(getattr(roster, column)[rows].tobytes() for column in columns))
    # The fastest in front and the even pace are the plain order itself.
    assert len(seen) >= len(orders) - 1
    assert len(others) == 1


def test_scores_are_those_of_the_race(named: Scenario) -> None:
    """Times, places and points of our rows from the recording itself, counted by hand."""
    day = race_day(named, "Millbrook")
    recording = run_race(day, 2, frames=False)
    one = scored(day, "Millbrook", [outcome_of(recording)])
    ours = recording.roster.team == "Millbrook"
    finish = recording.crossing_s[:, -1]
    assert (one.finish_s[0] == finish[ours]).all()
    assert one.scorers_s[0] == pytest.approx(np.sort(finish[ours])[:5].mean())
    by_hand = 1 + (finish[None, :] < finish[ours][:, None]).sum(axis=1)
    assert one.place[0, :, -1].tolist() == by_hand.tolist()
    assert one.points[0] == sum(sorted(_team_places(finish, ours))[:5])


def _team_places(finish: np.ndarray, ours: np.ndarray) -> list[int]:
    """Places of our first seven when both teams' eighth and later are taken out, by hand."""
    order = np.argsort(finish)
    counted = [i for i in order if _rank(i, order, ours) < 7]
    return [p for p, i in enumerate(counted, start=1) if ours[i]]


def _rank(i: int, order: np.ndarray, ours: np.ndarray) -> int:
    return [j for j in order if ours[j] == ours[i]].index(i)


@pytest.mark.parametrize(
    ("losses", "expected"),
    [
        ([9.0, 6.0, 4.0, 3.0, 2.9, 2.8], 0.18),
        ([3.0, 3.0, 3.0, 3.0, 3.0, 3.0], 0.0),
        ([5.0, 4.0, 3.0, 4.0, 5.0, 6.0], 0.12),
        ([3.4, 3.0, 3.0, 3.0, 3.0, 3.0], 0.0),
        ([np.nan, 6.0, 2.0, 2.0, 2.0, 2.0], 0.12),
    ],
)
def test_the_knee_is_the_least_opening_near_the_best(losses: list[float], expected: float) -> None:
    """Half a second from the best is as good; a curve of equals needs no opening at all."""
    openings = (0.0, 0.06, 0.12, 0.18, 0.24, 0.30)
    assert knee(dict(zip(openings, losses, strict=True))) == expected


def test_equal_arms_are_never_told_apart(named: Scenario, tmp_path: Path) -> None:
    """The placebo: an order that changes nothing beside one that does, in real races. Four paired seeds."""
    day = with_inputs_as(race_day(named, "Millbrook"), True)
    same = Order(0.12, {"mill corner": "inside"})
    orders = {"this": same, "the same": replace(same), "flat out": replace(same, opening=0.3)}
    bench = Bench(day, "Millbrook", tmp_path / "races.db", workers=1)
    arms = bench.run({w: told(day, "Millbrook", o) for w, o in orders.items()}, (1, 2, 3, 4))
    values = {word: arm.scorers_s for word, arm in arms.items()}
    judge = judge_of(day, (1, 2, 3, 4))
    two = {word: values[word] for word in ("this", "the same")}
    assert choice_of(two, "this", judge).as_you_like
    assert choice_of(two, "this", judge).later["the same"].low == 0.0
    assert values["flat out"].mean() < values["this"].mean() - 1


def test_who_is_later_beyond_doubt_is_told(named: Scenario) -> None:
    """By hand: two seconds later in every race is told, a tenth is not; where nothing is, the plain."""
    rng = np.random.default_rng(1)
    base = rng.normal(100.0, 3.0, 12)
    near = base + rng.normal(0.0, 0.5, 12)
    judge = judge_of(with_inputs_as(named, False), range(1, 13))
    found = settled_choice({"in": base, "mid": near, "out": near + 2.0}, "mid", judge)
    assert found.worse == ("out",)
    assert set(found.as_good) == {"in", "mid"}
    plain = settled_choice({"in": base, "mid": near}, "mid", judge)
    assert plain.chosen == "mid"
    assert plain.as_you_like
    alone = choice_of({"in": base}, "in", judge)
    assert alone.as_you_like
    assert not alone.later


def test_the_others_opening_goes_with_the_inputs(named: Scenario, tmp_path: Path) -> None:
    """Two seeds of each in turn, the same for every arm; a store holds it."""
    assert [rivals_of(seed) for seed in range(1, 8)] == [0.0, 0.0, 0.05, 0.05, -0.05, -0.05, 0.0]
    day = race_day(named, "Millbrook")
    seconds = [rivals_split_s(day, "Millbrook", by) for by in sorted(RIVALS)]
    assert seconds == sorted(seconds, reverse=True)
    assert seconds[0] - seconds[2] > 1.5
    bench = Bench(day, "Millbrook", tmp_path / "races.db", workers=1)
    bench.run({"arm": day}, (1, 3))
    with Store(tmp_path / "races.db") as store:
        assert len([*store.arms()]) == 2


def test_seconds_at_the_stake_are_those_run_alone(named: Scenario) -> None:
    """Against the race's own alone-runs, whose pace wanders: within 2 %. Harder is sooner."""
    day = race_day(named, "Millbrook")
    splits = our_splits_s(day, "Millbrook", (0.06, 0.24, 0.36, 0.4))
    assert (splits[0.06] > splits[0.24]).all()
    assert splits[0.36] == pytest.approx(splits[0.4], rel=0.002)
    recording = run_race(told(day, "Millbrook", Order(0.06)), 1, frames=False)
    ours = recording.roster.team == "Millbrook"
    alone = recording.alone_s[ours, stake_of(day, "Millbrook")]
    assert splits[0.06] == pytest.approx(alone, rel=0.02)


class _Later:
    """Races without races: the harder, the sooner."""

    def __init__(self, day: Scenario, best: float) -> None:
        self.day, self.team, self.best = day, "Millbrook", best

    def run(self, arms: dict[object, Scenario], seeds: tuple[int, ...]) -> dict[object, object]:
        return {key: self._arm(key, len(seeds)) for key in arms}

    def _arm(self, key: object, count: int) -> SimpleNamespace:
        opening = key[0] if isinstance(key, tuple) else key
        later = abs(float(opening) - self.best) * 100.0  # type: ignore[arg-type]
        return SimpleNamespace(
            scorers_s=np.full(count, 300.0 + later), finish_s=np.full((count, 2), 300.0 + later)
        )


@pytest.mark.parametrize(("best", "last"), [(0.12, 0.30), (0.30, 0.40), (0.36, 0.40), (0.40, 0.40)])
def test_the_search_goes_on_at_its_edge(named: Scenario, best: float, last: float) -> None:
    """Where the hardest opening tried is the best a harder one is tried, as far as can be told."""
    bench, judge = _Later(named, best), judge_of(with_inputs_as(named, False), (1, 2, 3))
    grid, order = _openings_and_lines(bench, (1, 2, 3), judge, {})  # type: ignore[arg-type]
    assert order.opening == best
    if best == 0.12:
        assert max(opening for opening, _ in grid) == last
    curve = _curve(bench, Order(0.1), (1, 2, 3))  # type: ignore[arg-type]
    assert (max(curve) == 0.30) == (best == 0.12)


def test_going_out_harder_is_further_up_at_the_throat(named: Scenario, tmp_path: Path) -> None:
    """A team that opens 30 % faster is in better places at the gate than one at race pace: ten paired seeds.

    Source: common practice, no published source.
    """
    day = race_day(named, "Millbrook")
    bench = Bench(day, "Millbrook", tmp_path / "races.db", workers=1)
    arms = {o: told(day, "Millbrook", Order(o)) for o in (0.0, 0.3)}
    found = bench.run(arms, tuple(range(1, 11)))
    place = {o: arm.place[:, :, gate_of(day)].mean(axis=1) for o, arm in found.items()}
    assert paired(place[0.3], place[0.0]).high < 0


class _Bench:
    """Races without races: the plan saves 1 s on average, by inputs from far more to nothing."""

    def __init__(self, day: Scenario, team: str) -> None:
        self.day, self.team, self.asked = day, team, list[int]()

    def run(self, arms: dict[str, Scenario], seeds: tuple[int, ...]) -> dict[str, SimpleNamespace]:
        self.asked += [seed for seed in seeds if seed not in self.asked]
        luck = np.array([np.random.default_rng(seed).normal(0, 0.1) for seed in seeds])
        by_inputs = np.array([(point_number(seed) * 7) % 11 / 5 for seed in seeds])
        return {
            PLAN: SimpleNamespace(scorers_s=np.zeros(len(seeds))),
            PRESENT: SimpleNamespace(scorers_s=by_inputs + luck),
        }


@pytest.mark.parametrize(("drawn", "first", "races"), [(True, 7, 40), (False, 6, 20)])
def test_a_plan_is_checked_with_inputs_that_had_no_part_in_it(
    named: Scenario, drawn: bool, first: int, races: int
) -> None:
    """Five seeds to choose with: the sixth meets the inputs of the fifth, and is left out with them.

    What the inputs may undo is never clear, as by chance alone it is at the second look.
    """
    bench = _Bench(with_inputs_as(named, drawn), "Millbrook")
    people = [p.name for p in the_team(named, "Millbrook").people]
    order = Order(dict.fromkeys(people, 0.1))
    _, gain = _checked(bench, order, (1, 2, 3, 4, 5), (10, 20, 40))  # type: ignore[arg-type]
    assert bench.asked == list(range(first, first + races))
    assert gain.found.is_seen is not drawn
    assert gain.found.seeds_alone.is_seen
