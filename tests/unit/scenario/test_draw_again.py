"""The draw drawn again for every seed: balanced, paired, and the same people wherever they stand."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest

from simrun.base.errors import BadInput
from simrun.measure.finish import reaches_finish
from simrun.runners.roster import Roster
from simrun.scenario.changes.changes_course import ending_by, to_the_finish
from simrun.scenario.changes.changes_people import with_draw_again, with_ours_again
from simrun.scenario.reader import read
from simrun.scenario.scenario import Scenario

SCENARIOS = Path(__file__).parents[3] / "scenarios"
FERRY = read(SCENARIOS / "ferry_meadow.toml")
FEN = read(SCENARIOS / "brindle_fen.toml")
DUAL = read(SCENARIOS / "dual_meet.toml")
WAVES = FERRY.changed({"start.waves": 2, "start.wave_gap": 60, "start.empty": [3, 24]} | {
    "field.fill": True
})  # fmt: skip


def boxes(roster: Roster) -> list[int]:
    """The box of every team, whose runners all stand there."""
    found = [np.unique(roster.box[roster.team_index == t]) for t in range(len(roster.team_names))]
    assert all(len(one) == 1 for one in found)
    return [int(one[0]) for one in found]


@pytest.mark.parametrize("day", [FERRY, FEN, DUAL, WAVES], ids=lambda day: day.name)
def test_in_a_block_every_team_stands_in_every_open_box_once(day: Scenario) -> None:
    """Two blocks: full lines, boxes left over, boxes left empty; no two teams in one; another order each."""
    again, open_boxes = with_draw_again(day), day.start.open_boxes
    count = len(open_boxes)
    stood = np.array([boxes(again.roster(seed)) for seed in range(1, 2 * count + 1)])
    for block in (stood[:count], stood[count:]):
        for team in block.T:
            assert sorted(team) == list(open_boxes)
        assert all(len(set(race)) == len(race) for race in block)
    if count > 2:
        steps = [
            np.diff(np.searchsorted(open_boxes, race)) % count for race in (stood[0], stood[-1])
        ]
        assert not np.array_equal(*steps), "the next block brings other neighbours"


def test_seed_0_is_one_race_more() -> None:
    """Nobody asks for it in a study; a race may."""
    assert len(set(boxes(with_draw_again(FEN).roster(0)))) == 12


def test_the_people_of_a_seed_stay_wherever_they_stand() -> None:
    """Body, pace, reaction, opening, line, wander: only the box and the place on the line are others."""
    before, after = FERRY.roster(5), with_draw_again(FERRY).roster(5)
    differing = {
        column.name
        for column in fields(Roster)
        if not np.array_equal(getattr(before, column.name), getattr(after, column.name))
    }
    assert differing == {"box", "throat_share"}


def test_the_wave_is_that_of_the_box_drawn() -> None:
    """Even boxes wait a minute, whoever stands there."""
    day = with_draw_again(WAVES)
    plain = with_draw_again(WAVES.changed({"start.wave_gap": 0}))
    one, other = day.roster(4), plain.roster(4)
    np.testing.assert_allclose(one.reaction_s - other.reaction_s, 60.0 * (one.box % 2 == 0))


def test_the_draw_on_paper_says_nothing_where_it_is_drawn_again() -> None:
    """The sheet's teams in other boxes, its lines in another order: the same roster to the last bit."""
    name = FEN.start.box_sheet
    assert name is not None
    head, *rows = FEN.attachments[name].strip().splitlines()
    box = head.split(",").index("Box")
    cells = [row.split(",") for row in rows]
    numbers = [row[box] for row in cells]
    for row, number in zip(cells, numbers[3:] + numbers[:3], strict=True):
        row[box] = number
    sheet = "\n".join([head, *(",".join(row) for row in reversed(cells))]) + "\n"
    other = Scenario.assembled(FEN.document, {**FEN.attachments, name: sheet}, FEN.file)
    assert boxes(FEN.roster(2))[0] != boxes(other.roster(2))[0]
    one, two = (with_draw_again(day).roster(2) for day in (FEN, other))
    for column in fields(Roster):
        np.testing.assert_array_equal(getattr(one, column.name), getattr(two, column.name))


@pytest.mark.parametrize("day", [FERRY, FEN, DUAL], ids=lambda day: day.name)
def test_ours_alone_goes_through_the_other_boxes(day: Scenario) -> None:
    """In a block each of the others once; who stood there takes ours, everybody else stays."""
    before = day.roster(1)
    paper, moved = boxes(before), with_ours_again(day)
    ours = [team.ours for team in day.teams].index(True)
    others = [box for box in day.start.open_boxes if box != paper[ours]]
    stood = []
    for seed in range(1, len(others) + 1):
        now = boxes(moved.roster(seed))
        stood.append(now[ours])
        changed = [t for t in range(len(now)) if now[t] != paper[t]]
        assert set(changed) - {ours} == {t for t, box in enumerate(paper) if box == now[ours]}
        assert all(now[t] == paper[ours] for t in changed if t != ours)
    assert sorted(stood) == others
    np.testing.assert_array_equal(before.cruise_m_s, moved.roster(1).cruise_m_s)


def test_everybody_drawn_again_is_ours_as_well() -> None:
    """A day on which our team alone goes through the boxes may be asked what a box costs."""
    whole = with_draw_again(with_ours_again(DUAL))
    assert boxes(whole.roster(4)) == boxes(with_draw_again(DUAL).roster(4))


def test_another_team_may_count_as_ours() -> None:
    """It alone goes through the boxes, and who stands there takes its own."""
    before, after = boxes(FEN.roster(3)), boxes(with_ours_again(FEN, "Fallowick").roster(3))
    names = list(FEN.roster(3).team_names)
    moved = {names[t] for t in range(12) if before[t] != after[t]}
    assert "Fallowick" in moved
    assert len(moved) <= 2


def test_what_cannot_be_drawn_again_is_one_line() -> None:
    """Our team without a box, no team of ours, both at once, a slip of the pen."""
    nobody = DUAL.changed({"teams.Millbrook.ours": False})
    for day, changes in (
        (nobody, {"start.ours": "again"}),
        (with_draw_again(DUAL), {"start.ours": "again"}),
    ):
        with pytest.raises(BadInput, match="only with one team of ours"):
            day.changed(changes)
    with pytest.raises(BadInput, match="did you mean 'again'"):
        DUAL.changed({"start.draw": "agan"})


def test_races_are_run_to_the_finish_where_the_checkpoints_end_before_it() -> None:
    """Drawn, in laps, or ending there already; who said where to end is not asked."""
    for name in ("ferry_meadow", "ostrel_common", "dual_meet"):
        day = read(SCENARIOS / f"{name}.toml")
        assert not reaches_finish(day.strip)
        assert reaches_finish(to_the_finish(day).strip)
        assert to_the_finish(day).strip.checkpoints[:-1] == day.strip.checkpoints
    assert to_the_finish(FEN) is FEN
    assert not reaches_finish(ending_by(FEN, 600).strip)
