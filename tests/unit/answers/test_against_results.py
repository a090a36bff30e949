"""Last year's race beside ours: every place of every mark, and the stretches where the model is off."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from simrun.answers.finish.against_results import by_place, by_stretch, expected_inside
from simrun.answers.finish.words import off_words
from simrun.engine.run import run_race
from simrun.runners.results import Results, parse_results
from simrun.scenario.reader import read
from simrun.trials.races import outcome_of

TOP = Path(__file__).parents[3]
MARKS = ("gap", "corner", "finish")
RUNNERS, RACES = 60, 20

Array = NDArray[np.float64]


def race(rng: np.random.Generator, runners: int = RUNNERS) -> Array:
    """Made-up times at three marks, (N, 3): abilities, a race's own pace for every stretch, chance."""
    pace = np.linspace(1.0, 1.4, runners)[:, None] * np.array([30.0, 60.0, 120.0])
    day = 1 + 0.02 * rng.standard_normal(3)
    return np.cumsum(pace * day * (1 + 0.02 * rng.standard_normal((runners, 3))), axis=1)


def outcomes_of(rng: np.random.Generator) -> list[Any]:
    return [SimpleNamespace(crossing_s=race(rng)) for _ in range(RACES)]


def results_of(times_s: Array) -> Results:
    """As a list of results has them: in any order, the finish apart."""
    return Results(times_s[:, 2], {"Gap": times_s[:, 0], "Corner": times_s[:, 1]})


def test_a_race_of_the_models_own_is_off_nowhere_more_often_than_chance() -> None:
    """The placebo, 200 times: of a true model one in twenty is off somewhere."""
    rng = np.random.default_rng(1)
    off = 0
    for _ in range(200):
        ours, theirs = outcomes_of(rng), results_of(race(rng))
        off += bool(by_stretch(ours, MARKS, theirs)["is_off"].any())
    assert off / 200 < 0.05 + 2 * np.sqrt(0.05 * 0.95 / 200)


def test_so_many_places_of_a_true_race_lie_inside_as_is_said() -> None:
    """Over 40 races, all places of them, within three standard errors; of 20 races that is not yet 80 %."""
    rng = np.random.default_rng(2)
    share = []
    for _ in range(40):
        table = by_place(outcomes_of(rng), MARKS, results_of(race(rng)))
        share.append(table["inside"].mean())
    error = np.std(share, ddof=1) / np.sqrt(len(share))
    assert expected_inside(RACES) == pytest.approx(0.8 * 19 / 21)
    assert abs(np.mean(share) - expected_inside(RACES)) < 3 * error


def test_what_is_made_slower_is_named_there_and_nowhere_else() -> None:
    """Twelve seconds for the last third between gap and corner: that piece, its seconds, in words."""
    rng = np.random.default_rng(5)
    ours, theirs = outcomes_of(rng), race(rng)
    last = np.argsort(theirs[:, 2])[2 * RUNNERS // 3 :]
    theirs[last, 1:] += 12.0
    table = by_stretch(ours, MARKS, results_of(theirs))
    named = table[table["is_off"]]
    assert list(zip(named["from"], named["to"], named["third"], strict=True)) == [
        ("gap", "corner", "last third")
    ]
    row = named.iloc[0]
    assert row["off_s"] == pytest.approx(-12.0, abs=4.0)
    said = off_words(table)
    assert said.startswith("The model is off in 1 of 9 pieces")
    assert "from the gap to the corner our last third is" in said
    assert "s too fast" in said
    assert "In none of 9 pieces" in off_words(by_stretch(ours, MARKS, results_of(race(rng))))


def test_fields_of_different_size_and_people_without_a_split() -> None:
    """Forty of theirs, a mat that missed half of them, a mark of theirs that is not ours."""
    rng = np.random.default_rng(4)
    theirs = race(rng, 40)
    theirs[::2, 0] = np.nan
    theirs[5, 2] = np.nan
    known = results_of(theirs)
    known.splits["Bridge"] = theirs[:, 1]
    table = by_place(outcomes_of(rng), MARKS, known)
    assert table.groupby("checkpoint").size().to_dict() == {"gap": 20, "corner": 40, "finish": 39}
    assert table["share"].min() == 0
    assert table["share"].max() == 1
    assert len(by_stretch(outcomes_of(rng), MARKS, known)) == 9
    few = Results(theirs[:4, 2], {})
    assert not len(by_stretch(outcomes_of(rng), MARKS, few))
    assert "Too few" in off_words(by_stretch(outcomes_of(rng), MARKS, few))


def test_our_own_race_lies_inside_its_own_range() -> None:
    """The middle one of three races held beside all three; a race a minute slower lies outside."""
    day = read(TOP / "scenarios" / "dual_meet.toml")
    outcomes = [outcome_of(run_race(day, seed, frames=False)) for seed in (1, 2, 3)]
    names = [mark.name for mark in day.strip.checkpoints]
    last = np.array([np.sort(o.crossing_s[:, -1])[10] for o in outcomes])
    theirs = outcomes[int(np.argsort(last)[1])].crossing_s
    rows = "\n".join(f"{gate:.2f},{time:.2f}" for gate, time in theirs[:, [0, -1]])
    own = by_place(outcomes, names, parse_results(f"gate,time\n0:30.00,60\n{rows}\n", "x.csv"))
    middle = own[(own.checkpoint == names[-1]) & ((own.share - 0.5).abs() < 0.03)].iloc[0]
    assert middle.our_low_s <= middle.our_s <= middle.our_high_s
    slow = parse_results(f"time\n{chr(10).join(f'{t + 60:.2f}' for t in theirs[:, -1])}\n", "x.csv")
    table = by_place(outcomes, names, slow)
    assert set(table.checkpoint) == {names[-1]}
    assert not table.inside.any()
    stretches = by_stretch(outcomes, names, slow)
    assert stretches["off_s"].max() < -50
