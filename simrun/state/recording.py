"""What happened in one race? Enough to measure it, to show it, and to make it again."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simrun.course.strip import Strip
from simrun.runners.roster import Roster
from simrun.scenario.scenario import Scenario
from simrun.state.arrays import metres_a_second
from simrun.state.engine_digest import running_engine
from simrun.state.tracks import Tracks

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Recording:
    """One race, N runners, T frames, C checkpoints.

    times_s (T,); position_m (T, N, 2) float32 in the local frame of the course, nan once a runner
    has left the run-out; speed_cm_s (T, N): speed in whole centimetres a second, GONE once a runner has left;
    wished_cm_s (T, N): the speed the runner would have run with nobody near. crossing_s (N, C): when each
    checkpoint was crossed, nan = not within the limit. reserve_m, alone_reserve_m (N, C): what was then left
    of the metres that can be run above the critical speed, in the race and alone on their own line from their
    own box. alone_s, shortest_s,
    best_s (N, C): crossing times of the same runner alone, from their own box on their own line, from their
    own box on the shortest line, and from the best box on the shortest line. best_box: which box that is,
    one for the whole race. raced_s (N, C): alone from their own box on their own line, wishing for what was
    wished in the race because of the others; alone_s where nobody races. tracks: the same alone-runs by
    place. stood_s, stood_m (N,): the longest time
    that each stood in one place, free to go and with nobody down, and where, metres along the measured
    line. peak_overlap: the largest overlap of two bodies at the end of a step, as a share of a body's
    width. version, engine: of the package, and a short name for the state of its engine.
    """

    scenario: Scenario
    seed: int
    version: str
    engine: str
    roster: Roster
    times_s: Array
    position_m: NDArray[np.float32]
    speed_cm_s: NDArray[np.int16]
    wished_cm_s: NDArray[np.int16]
    crossing_s: Array
    reserve_m: Array
    alone_reserve_m: Array
    alone_s: Array
    raced_s: Array
    shortest_s: Array
    best_s: Array
    best_box: int
    tracks: Tracks
    stood_s: Array
    stood_m: Array
    peak_overlap: float

    def __repr__(self) -> str:
        """Which race, how many runners, marks and frames."""
        runners, marks = self.crossing_s.shape
        size = f"{runners} runners, {marks} marks, {len(self.times_s)} frames"
        return f"<Recording of {self.scenario.name!r}, seed {self.seed}: {size}>"

    @property
    def speed_m_s(self) -> NDArray[np.float32]:
        """The speeds of all frames, (T, N), made anew at every call; nan once a runner has left."""
        return metres_a_second(self.speed_cm_s)

    @property
    def wished_m_s(self) -> NDArray[np.float32]:
        """The speeds wished for, (T, N), made anew at every call; nan once a runner has left."""
        return metres_a_second(self.wished_cm_s)

    @property
    def strip(self) -> Strip:
        """The ground this race was run on."""
        return self.scenario.strip

    @property
    def is_of_this_engine(self) -> bool:
        """Would the same scenario and seed give this race today?"""
        return self.engine == running_engine()
