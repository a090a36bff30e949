"""Running back in words: true whatever the races brought, nothing among it, and the chart shows the ways."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from PIL import Image

from simrun.answers.chase.back_ranges import back_ranges, kick_ranges, points_in
from simrun.answers.chase.charts import STYLES, back_chart
from simrun.answers.chase.words import (
    Told,
    back_rows,
    chance_of,
    details_of,
    kick_words,
    sentence_of,
    text_of,
    to_go_words,
    won_words,
)
from simrun.engine.set_back import BY_PLAN, FOR_PLACES, WAYS
from simrun.pictures.ink.colours import INKS
from simrun.scenario.changes.changes_inputs import with_inputs_drawn
from simrun.scenario.reader import read
from simrun.tactics.regain import AT_ONCE, EVENLY
from simrun.trials.run_back import Marks
from simrun.trials.statistics import paired, single_range

FEN = Path(__file__).parents[3] / "scenarios" / "brindle_fen.toml"
MARKS = Marks(600.0, (200.0,), 856.2, "fen path")
SPREAD = np.array([-1.0, -0.5, 0.0, 0.5, 1.0])


def lost(by_way: dict[str, float], delay: float = 10.0, **columns: float) -> pd.DataFrame:
    """Five races a way, in the mean late by so much at the finish, with a spread of two seconds."""
    plain = {"start_s": 9.0, "places": 4.0, "points": 12.0, "kept_m": 24.0, "left_m": 5.0}
    rows = [
        {"seed": seed, "in_hand_m": 20.0, "way": way, "delay_s": delay, "runners": 7.0}
        | {"finish_s": late + off, "back_s": delay - late - off, **(plain | columns)}
        for way, late in by_way.items()
        for seed, off in enumerate(SPREAD, start=1)
    ]
    return pd.DataFrame(rows)


def told(races: pd.DataFrame, kick: pd.DataFrame | None = None) -> Told:
    tables = {"chase": back_ranges(races), "chase_races": races}
    if kick is not None:
        tables["chase_kick"] = kick_ranges(kick)
    return Told(read(FEN), MARKS, tables, "metric")


def late(evenly: float, plan: float, **columns: float) -> Told:
    """Every way but the plan leaves as much as evenly."""
    return told(lost({way: plan if way == BY_PLAN else evenly for way in WAYS}, **columns))


def test_the_sentence_says_what_eight_races_in_ten_brought() -> None:
    """10 s lost, 5 to 7 left in the mean of 6: the middle eight of ten run back 3.2 to 4.8."""
    assert sentence_of(late(6.0, 10.5)) == (
        "Of 10 s lost at the start Ellerfold runs back 3.2 to 4.8 s by the finish in eight races out of ten "
        "(evenly, with 20 m in hand); holding the plan it gets back between nothing and 0.3 s. "
        "The 6.0 s that are left on average cost 4.0 places a runner and 12.0 team points."
    )


@pytest.mark.parametrize(
    ("evenly", "plan", "expected"),
    [
        (13.0, 14.0, "runs back nothing and loses 2.2 to 3.8 s more by the finish"),
        (10.0, 14.0, "runs back between nothing and 0.8 s by the finish"),
        (6.0, 12.0, "holding the plan it gets back nothing and loses 1.2 to 2.8 s more."),
        (-2.0, 12.0, "On average nothing of it is left at the finish."),
    ],
)
def test_the_sentence_is_true_when_little_or_nothing_is_run_back(
    evenly: float, plan: float, expected: str
) -> None:
    assert expected in sentence_of(late(evenly, plan))


def test_the_price_is_told_as_it_is() -> None:
    """Without a score no points; where a delay wins something, the signs."""
    assert "change the place by +4.0 a runner." in sentence_of(late(6.0, 10.0, points=np.nan))
    said = sentence_of(late(6.0, 10.0, points=-3.0))
    assert "make a difference of +4.0 places a runner and -3.0 team points." in said


def test_nobody_late_is_nothing_to_run_back() -> None:
    """The placebo in words: no seconds, no way praised."""
    found = told(lost(dict.fromkeys(WAYS, 0.0), delay=0.0))
    assert "nothing to run back" in sentence_of(found)
    assert details_of(found) == ()
    assert "nothing to run back" in text_of(found)


def test_who_never_finished_is_said() -> None:
    """No figure is made out of nobody."""
    found = told(lost(dict.fromkeys(WAYS, np.nan)))
    assert "nobody of the team finished" in sentence_of(found)
    assert "nan" not in text_of(found)


def test_what_running_back_is_worth_is_paired_with_the_plan() -> None:
    """The same offs in both: the difference is exact though races spread; equal ways are not told apart."""
    row = back_ranges(lost({BY_PLAN: 9.0, EVENLY: 6.0})).set_index("way").loc[EVENLY]
    assert (row["chased_s"], row["chased_s_low"], row["chased_s_high"]) == (3.0, 3.0, 3.0)
    assert row["finish_s_p10"] == pytest.approx(6.0 - 0.8)
    worth, ways = details_of(late(6.0, 9.0))
    assert "between 3.0 and 3.0 s earlier" in worth
    assert "may be just as good" in ways
    two = dict.fromkeys(WAYS, 9.0) | {AT_ONCE: 5.0, EVENLY: 7.0}
    assert details_of(told(lost(two)))[1].startswith(
        "Run back at once leaves the least at the finish, cl"
    )


def test_a_row_has_every_figure_and_the_plan_is_not_held_against_itself() -> None:
    """Late at the start mark and at the finish, its range, run back, places, points, metres left."""
    rows = back_rows(late(6.0, 10.5), 20.0)
    assert rows[0][2] == "late at fen path s"
    by_way = {row[1]: row for row in rows[1:]}
    assert by_way[BY_PLAN][2:7] == ["9.0", "10.5", "9.7 to 11.3", "-0.5", "-"]
    assert by_way[EVENLY][7:] == ["+4.0", "+12.0", "24 m, 5.0 m"]
    assert by_way[FOR_PLACES][6] == "-"


def test_in_hand_that_changes_nothing_is_said() -> None:
    """On a short course race pace leaves more than either amount: both tables are the same."""
    races = lost(dict.fromkeys(WAYS, 6.0))
    same = told(pd.concat([races, races.assign(in_hand_m=40.0)]))
    assert details_of(same)[-1].startswith("What is kept in hand makes no difference here")
    other = told(pd.concat([races, races.assign(in_hand_m=40.0, kept_m=44.0)]))
    assert len(details_of(other)) == 2


def test_the_kick_is_told_in_places() -> None:
    """Of whom, how many, and the most; ours with an interval over the races."""
    rows = [
        {"seed": seed, "in_hand_m": 20.0, "way": way, "to_go_m": 200.0}
        | {"our_places": won, "our_most": 3.0, "winners": 28.0 + 2 * seed, "most": 6.0}
        for way in (BY_PLAN, FOR_PLACES)
        for seed, won in enumerate((0.5, 1.5), start=1)
    ]
    found = told(lost(dict.fromkeys(WAYS, 6.0)), pd.DataFrame(rows))
    assert kick_words(found) == (
        "From 200 m to go a kick still wins places for 30 to 32 of 81 runners, 6 at the most; the best of "
        "ours wins 3, and on average each of ours wins 1.0."
    )


def test_places_won_are_said_as_won_or_lost() -> None:
    """No sign and no "-0.0": a coach reads it aloud. Metres to go stay metres, with the yards beside them."""
    said = [won_words(places) for places in (1.04, 0.04, -0.04, 0.0, -0.06, -2.0)]
    assert said == ["wins 1.0", "wins none", "wins none", "wins none", "loses 0.1", "loses 2.0"]
    assert to_go_words(400.0, "metric") == "400 m"
    assert to_go_words(400.0, "us") == "400 m (437 yd)"


def spread(by_point: tuple[float, ...], chance_s: float = 0.1) -> pd.DataFrame:
    """Two races a point of the inputs; at each, evenly leaves so much less than the plan, give or take."""
    gain = np.repeat(by_point, 2) + np.tile([-chance_s, chance_s], len(by_point))
    races = []
    for way in WAYS:
        late = np.full(len(gain), 9.0) if way == BY_PLAN else 9.0 - gain
        seeds = pd.DataFrame({"seed": np.arange(1, len(gain) + 1), "finish_s": late})
        races.append(lost({way: 9.0}).iloc[[0] * len(gain)].reset_index(drop=True).assign(**seeds))
    table = pd.concat(races, ignore_index=True)
    return table.assign(back_s=10.0 - table["finish_s"])


def drawn(races: pd.DataFrame) -> Told:
    """The same races of a day on which the inputs are drawn."""
    day = with_inputs_drawn(read(FEN))
    tables = {"chase": back_ranges(races, points_in(day, races)), "chase_races": races}
    return Told(day, MARKS, tables, "metric")


def test_inputs_held_fixed_leave_the_plain_interval() -> None:
    """The placebo: nothing drawn, so the whole range is that of pairs by seed, and all of it is chance."""
    races = spread((2.0, 4.0, 3.0, 5.0))
    found = told(races)
    row = found.main(EVENLY)
    plan, even = (races.loc[races["way"] == w, "finish_s"].to_numpy() for w in (BY_PLAN, EVENLY))
    plain = paired(plan, even)
    whole = [row["chased_s_low"], row["chased_s_high"]]
    assert whole == [row["chased_s_chance_low"], row["chased_s_chance_high"]]
    assert whole == pytest.approx([plain.low, plain.high])
    eight = (row["back_s_p10"], row["back_s_p90"])
    assert eight == (row["back_s_chance_p10"], row["back_s_chance_p90"]) == single_range(10 - even)
    assert chance_of(found) == ""
    assert text_of(found).count("chance alone") == 1
    assert "held at its middle value: ranges cover chance alone." in text_of(found)


def test_drawn_inputs_widen_the_range_and_the_part_that_is_chance_is_told() -> None:
    """Four points a second or more apart, a tenth of a second of chance: most of the range is the inputs."""
    found = drawn(spread((4.0, 6.0, 5.0, 7.0)))
    row = found.main(EVENLY)
    # Wider than the four points by themselves would have it: t(3) of 1.291 over four.
    assert row["chased_s_high"] - row["chased_s"] > 3.182 * 1.291 / 2
    # t(4) of a standard deviation of 0.1414 over eight races.
    assert row["chased_s_chance_high"] - row["chased_s"] == pytest.approx(2.776 * 0.05, abs=0.001)
    # Races 10 - (9 - gain) = gain + 1; by chance alone 0.1 about their mean of 6.5, times sqrt(2).
    assert sentence_of(found).startswith(
        "Of 10 s lost at the start Ellerfold runs back 5.0 to 8.0 s"
    )
    assert chance_of(found).startswith(
        "By chance alone it would be 6.4 to 6.6 s; holding the plan 1.0 s."
    )
    assert "(chance alone: 5.4 and 5.6 s earlier)" in details_of(found)[1]
    assert text_of(found).endswith("drawn anew for every two races.")


def test_what_the_inputs_may_undo_is_not_claimed() -> None:
    """Clear by chance alone, but at one point of three the plan was better: no seconds are promised."""
    found = drawn(spread((3.0, -2.0, 5.0)))
    said = details_of(found)[1]
    assert said.startswith(
        "Whether running back evenly beats holding the plan, we cannot tell: by chance"
    )
    assert said.endswith("but what nobody has measured may undo that.")
    by_way = {row[1]: row for row in back_rows(found, 20.0)}
    assert by_way[EVENLY][6] == "no difference that we can see"
    assert "may be just as good" in details_of(found)[2]


def test_what_the_kick_wins_has_both_ranges() -> None:
    """By point 1, 3, 5 places, a tenth of chance; fixed, both are the same."""
    won = np.repeat([1.0, 3.0, 5.0], 2) + np.tile([-0.1, 0.1], 3)
    plain = {"in_hand_m": 20.0, "way": BY_PLAN, "to_go_m": 200.0, "our_most": 3.0, "most": 6.0}
    kick = pd.DataFrame({"seed": range(1, 7), "our_places": won, "winners": 9.0}).assign(**plain)
    (row,) = kick_ranges(kick, points_in(with_inputs_drawn(read(FEN)), kick)).to_dict("records")
    assert row["our_places_chance_high"] - 3.0 == pytest.approx(
        3.182 * 0.1 * np.sqrt(2 / 6), abs=1e-3
    )
    assert row["our_places_high"] - 3.0 > 4.0
    (row,) = kick_ranges(kick, points_in(read(FEN), kick)).to_dict("records")
    assert row["our_places_chance_high"] == row["our_places_high"]


def test_every_way_has_its_line_in_the_chart() -> None:
    """By its ink; who leaves all of it lies on the line that says so."""
    races = lost({way: 3.0 + 2.0 * n for n, way in enumerate(WAYS)})
    png = back_chart(back_ranges(pd.concat([races, races.assign(delay_s=20.0)])))
    with Image.open(io.BytesIO(png)) as picture:
        pixels = np.asarray(picture.convert("RGB"))
    assert set(STYLES) == set(WAYS)
    for ink, _, _ in STYLES.values():
        assert (pixels == INKS[ink]).all(axis=2).sum() > 20, ink
