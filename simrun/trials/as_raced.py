"""Did it come out as told? Openings in seconds at their mark, the race beside the entry list, and what the
pull towards the front added to traffic."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simrun.engine.run import Progress, field_of, recording_of
from simrun.runners.endurance import RACE_M
from simrun.state.account import passed_at
from simrun.state.recording import Recording

if TYPE_CHECKING:
    import pandas

Array = NDArray[np.float64]

FAR_OFF = 0.03
"""A winning time or a median this share off that of the entry list is warned of."""


def openings(recording: Recording) -> pandas.DataFrame:
    """Gun to the mark: what was told, what the same runner does alone, and what became of it? A row a runner.

    told_s: race pace on this ground over (1 + opening); missed_s: by how much the body misses it alone, its
    wander and the front's pull left out (0 but for thousandths, unless `cannot`); alone_s with both;
    field_s in the race. Where racing is off nothing is told as a split: nan. Needs a recording with frames.
    Check: tests/validation/test_racing.py.
    """
    import pandas as pd

    roster = recording.roster
    mark = np.minimum(roster.opening_m, recording.strip.checkpoints[-1].station_m)
    passed = passed_at(recording, mark[:, None])
    told = np.where(roster.told_s > 0.0, roster.told_s, np.nan)
    return pd.DataFrame(
        {
            "runner": np.array(roster.name),
            "team": roster.team,
            "mark_m": mark,
            "opening": roster.opening,
            "told_s": told,
            "missed_s": np.where(np.isnan(told), np.nan, roster.late_s),
            "cannot": roster.cannot_open,
            "alone_s": passed.own_s[:, 0],
            "field_s": passed.field_s[:, 0],
        }
    )


@dataclass(frozen=True)
class BesideEntries:
    """Winning time and median of a race, scaled to 5 km by its length, beside those of the seed times."""

    winner_s: float
    median_s: float
    entered_winner_s: float
    entered_median_s: float

    @property
    def warning(self) -> str:
        """One line where they are far apart, else nothing."""
        off = [
            f"{what} {run / told - 1.0:+.1%}"
            for what, run, told in (
                ("the winning time", self.winner_s, self.entered_winner_s),
                ("the median", self.median_s, self.entered_median_s),
            )
            if abs(run / told - 1.0) > FAR_OFF
        ]
        if not off:
            return ""
        return " and ".join(off) + " off the entry list: say what the seed times are (seed_on)"


def beside_entries(recording: Recording) -> BesideEntries:
    """How does the race compare with the seed times? Of those who came to the last mark.

    5000 m / length times the simulated time; the seed times are those that were written or drawn. nan where
    nobody came there: the median of a race of which half did not is that of the others.
    Check: tests/validation/test_racing.py.
    """
    roster, last = recording.roster, recording.crossing_s[:, -1]
    scale = RACE_M / recording.strip.checkpoints[-1].station_m
    # cruise and level_m are of one race: level metres over level pace is the seed time.
    seed_s = roster.level_m / roster.cruise_m_s
    there = np.isfinite(last)
    run = scale * last[there] if there.any() else np.array([np.nan])
    entered = seed_s[there] if there.any() else seed_s
    return BesideEntries(
        float(run.min()), float(np.median(run)), float(entered.min()), float(np.median(entered))
    )


def front_adds_s(recording: Recording, progress: Progress | None = None) -> Array:
    """How much of everybody's traffic comes of the pull towards the front? Seconds at every mark, (N, C).

    The traffic of this race less that of the same race in which nobody is drawn out, each against its own
    alone-runs; nothing where nobody races for places. It is no bad luck: it stands beside the four parts,
    not in them. Runs that other race. Check: tests/validation/test_racing.py.
    """
    if recording.scenario.field.racing == "off":
        return np.zeros_like(recording.crossing_s)
    race = field_of(recording.scenario, recording.seed, frames=False)
    race.roster = replace(race.roster, drawn=np.zeros(len(race.roster)))
    race.runners["drawn"] = 0.0
    calm = recording_of(race.run(progress), recording.seed)
    found: Array = (recording.crossing_s - recording.raced_s) - (calm.crossing_s - calm.raced_s)
    return found
