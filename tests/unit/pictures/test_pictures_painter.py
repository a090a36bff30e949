"""Who lies on top of whom, and are all texts of a whole picture apart when two names are shown?"""

from __future__ import annotations

import itertools
from pathlib import Path

import numpy as np
import pytest

from simrun.pictures.film.painter import Painter
from simrun.pictures.ink.colours import ink
from simrun.pictures.ink.placing import overlap
from simrun.pictures.ink.stamps import BORDER_PX, put_numbered
from simrun.pictures.ink.view import View
from simrun.state.recording import Recording
from tests.helpers.recordings import shipped

SHIPPED = Path(__file__).parents[3] / "scenarios"


@pytest.fixture(scope="module")
def dual() -> Recording:
    return shipped("dual_meet", 1)


def test_ours_are_drawn_last_and_of_ours_the_one_who_is_followed(dual: Recording) -> None:
    """The order of drawing, for a follow of our team, of one of ours and of one of theirs."""
    ours = dual.scenario.our_team
    team = dual.roster.team.tolist()
    of_ours = dual.roster.name[team.index(ours)]
    of_theirs = next(n for n, t in zip(dual.roster.name, team, strict=True) if t != ours)
    for follow, last in ((None, "ours"), (of_ours, "followed"), (of_theirs, "ours")):
        kinds = Painter(dual, View(to_s=1.0), follow).kinds(5)
        drawn = [kind.split()[0] for kind, who in kinds.items() if who.any()]
        assert drawn[-1] == last, (follow, drawn)


def test_everybody_is_drawn_exactly_once(dual: Recording) -> None:
    """Whatever is followed, every runner is of one kind, in every frame looked at."""
    for follow in (None, dual.roster.name[0], dual.roster.team_names[-1]):
        painter = Painter(dual, follow=follow)
        for frame in range(0, len(painter), 45):
            assert (np.sum(list(painter.kinds(frame).values()), axis=0) == 1).all()


def test_two_names_and_all_signs_keep_apart(dual: Recording) -> None:
    """With one of ours followed both names are on the map, and no two texts share a pixel."""
    ours = dual.scenario.our_team
    painter = Painter(dual, follow=dual.roster.name[dual.roster.team.tolist().index(ours)])
    for frame in range(0, len(painter), 15):
        painter.picture(frame)
        texts = [written.text for written in painter.placed]
        assert painter.followed.label in texts, frame
        assert ours in texts or not inside(painter, frame, painter.ours).any(), frame
        for one, other in itertools.combinations(painter.placed, 2):
            assert not overlap(one.box, other.box, 0), (frame, one, other)


def inside(painter: Painter, frame: int, who: np.ndarray) -> np.ndarray:
    """Which of these runners are on the map, with room for a name around them?"""
    pixel = painter.window(frame).pixels(painter.moments.position_m[frame][who])
    size = np.array([painter.layout.width_px, painter.layout.map_height_px])
    return ((pixel > 100) & (pixel < size - 100)).all(axis=1)


def test_ours_bear_the_numbers_of_their_rows(dual: Recording) -> None:
    """On map and ribbon: digits in paper on the dot of each, another for every row; one alone has none."""
    painter = Painter(dual)
    frame = len(painter) // 2
    pixel = painter.window(frame).pixels(painter.moments.position_m[frame])
    assert painter.numbered.tolist() == painter.rows.tolist()
    kinds = {"other": ~painter.our_team, "ours": painter.our_team}
    apart = np.stack([60.0 + 40.0 * np.arange(len(pixel)), np.full(len(pixel), 60.0)], axis=1)
    bordered = np.zeros((200, 60 + 40 * len(pixel) + 100), dtype=np.uint8)
    put_numbered(bordered, apart, kinds, painter.numbered, (2.0, 2.0))
    around = [
        (bordered[92:109, x - 8 : x + 9] == ink("paper"))
        for x in (apart[painter.numbered, 0] + BORDER_PX).astype(int)
    ]
    assert all(10 < digits.sum() < 120 for digits in around)
    assert len({digits.tobytes() for digits in around}) == len(painter.numbered)
    assert len(Painter(dual, follow=dual.roster.name[0]).numbered) == 0
