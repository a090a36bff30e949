"""What do the races say of a side? Who arrives on it, what crossing costs, where it is too late."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from simrun.answers.side.side_arms import (
    CROSS,
    DRAWN,
    KEEP,
    PAPER,
    TURN_LINES,
    Places,
    after_words,
    late_marks,
    own_side,
)
from simrun.scenario.scenario import Scenario
from simrun.trials.how_sure import Judge, Sure, judge_of
from simrun.trials.races import Outcome

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]

HALF = 0.5


@dataclass(frozen=True)
class SideFound:
    """Everything `simrun side` found out. day: timed at the marks; outcomes: by arm, one a seed."""

    day: Scenario
    team: str | None
    places: Places
    outcomes: Mapping[str, Sequence[Outcome]]
    seeds: tuple[int, ...]

    @property
    def judge(self) -> Judge:
        """How values of the races are judged."""
        return judge_of(self.day, self.seeds)

    @property
    def our_box(self) -> int | None:
        """Which box is ours on paper?"""
        return next((t.box for t in self.day.teams if t.name == self.team), None)

    @cached_property
    def on_good_side_already(self) -> bool:
        """Does our box lie on the good side of the middle of the line?"""
        return self.team is not None and own_side(self.day, self.team) == self.places.good

    def mark(self, at_m: float) -> int:
        """Which checkpoint of the day is the one at these metres?"""
        away = [abs(mark.station_m - at_m) for mark in self.day.strip.checkpoints]
        return away.index(min(away))

    def _good(self, outcome: Outcome, mark: int) -> Array:
        """Who passed this mark on the good side: 1, 0, nan for who did not come so far. (N,)"""
        assert outcome.across is not None
        across = outcome.across[:, mark]
        good = across < HALF if self.places.good == "left" else across >= HALF
        return np.where(np.isnan(across), np.nan, good)

    def _ours(self, outcome: Outcome) -> NDArray[np.bool_]:
        names = [team.name for team in self.day.teams]
        return np.asarray(outcome.team_index == names.index(str(self.team)))

    def box_share(self, box: int) -> Sure:
        """Which share of who stands in this box arrives on the good side? Over the races it was drawn in."""
        at = self.mark(self.places.at_m)
        values = [
            _mean(self._good(outcome, at)[outcome.box == box]) for outcome in self.outcomes[DRAWN]
        ]
        return self.judge(values)

    def our_share(self, arm: str) -> Sure:
        """Which share of ours arrives there, told this?"""
        at = self.mark(self.places.at_m)
        return self.judge([_mean(self._good(o, at)[self._ours(o)]) for o in self.outcomes[arm]])

    def cost(self, arm: str, against: str) -> tuple[Sure, Sure]:
        """Seconds and places that one arm costs ours against the other, behind the turn; paired by seed."""
        at = self.mark(self.places.behind_m)
        pairs = list(zip(self.outcomes[arm], self.outcomes[against], strict=True))
        seconds = [_mean((a.crossing_s - b.crossing_s)[self._ours(a), at]) for a, b in pairs]
        places = [_mean((a.place - b.place)[self._ours(a), at]) for a, b in pairs]
        return self.judge(seconds), self.judge(places)

    @cached_property
    def where(self) -> tuple[Late, ...]:
        """Mark by mark: ours keep their own place up to it and cross then; how many still get over?"""
        metres = dict(self.places.marks)
        return tuple(
            Late(name, metres[name], self.our_share(arm), *self.cost(arm, KEEP))
            for name in late_marks(self.places)
            if (arm := after_words(name)) in self.outcomes
        )

    @cached_property
    def last_place(self) -> Late | None:
        """The last mark from which, and from every one before it, at least half of ours still get over."""
        last = None
        for one in self.where:
            if not one.over.mean >= HALF:
                break
            last = one
        return last


@dataclass(frozen=True)
class Late:
    """One mark behind which ours cross: which share gets over, and what that costs against not crossing."""

    name: str
    at_m: float
    over: Sure
    seconds: Sure
    places: Sure


def _mean(values: Array) -> float:
    known = values[np.isfinite(values)]
    return float(known.mean()) if len(known) else float("nan")


def box_table(found: SideFound) -> pandas.DataFrame:
    """A row a box: the share of who stands there that passes the narrowing on the good side."""
    import pandas as pd

    rows = [
        {"box": box, "ours": box == found.our_box} | found.box_share(box).columns("good_side")
        for box in found.day.start.open_boxes
    ]
    return pd.DataFrame(rows)


def our_table(found: SideFound) -> pandas.DataFrame:
    """A row an order to our team: the share on the good side, seconds and places behind the turn.

    Crossing is held against keeping to their own side, lines through the turn against the inside all through.
    """
    import pandas as pd

    if found.team is None:
        return pd.DataFrame()
    rows = []
    late = {after_words(one.name) for one in found.where}
    for arm in [arm for arm in found.outcomes if arm not in {DRAWN, *late}]:
        against = {PAPER: PAPER, CROSS: KEEP, KEEP: KEEP}.get(arm, next(iter(TURN_LINES)))
        seconds, places = found.cost(arm, against)
        row: dict[str, Any] = {"order": arm, "against": against}
        row |= found.our_share(arm).columns("good_side")
        rows.append(row | seconds.columns("cost_s") | places.columns("cost_places"))
    return pd.DataFrame(rows)


def where_table(found: SideFound) -> pandas.DataFrame:
    """A row a mark behind which ours cross: the share that gets over, what it costs against not crossing."""
    import pandas as pd

    return pd.DataFrame(
        [
            {"mark": one.name, "at_m": one.at_m}
            | one.over.columns("gets_over")
            | one.seconds.columns("cost_s")
            | one.places.columns("cost_places")
            for one in found.where
        ]
    )
