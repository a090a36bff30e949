"""One race from the gun to the last checkpoint, and the same runners alone beside it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simrun.base.stopped import go_on
from simrun.base.version import VERSION
from simrun.course.station import stations_m
from simrun.engine.alone import Alone, AloneRuns
from simrun.engine.entering import (
    LONGEST_S,
    Racing,
    Stages,
    course_share,
    front_of,
    mark_s,
    on_this_ground,
    opening_solved,
    told_by,
    with_hand_kept,
)
from simrun.engine.field import (
    bodies_at,
    scratch_for,
    settings_for,
    sound_delay_s,
    stand_m,
    tape_for,
    ways_of,
)
from simrun.engine.ground import ground_of
from simrun.engine.kernel.step import run_steps
from simrun.engine.watch import LOOKS_S, Watch
from simrun.laws.settings import Settings, settings_of
from simrun.runners.roster import Roster
from simrun.scenario.scenario import Scenario
from simrun.state.arrays import NO_RACING, PLAN_ONLY, RACES, REPLAYS, Records, Tape
from simrun.state.engine_digest import running_engine
from simrun.state.frame_budget import check_frames
from simrun.state.recording import Recording
from simrun.state.tracks import straightened
from simrun.tactics.margins import gives_m, own_margins, shortest_margins
from simrun.tactics.own.behaviour import Behaviour
from simrun.tactics.own.given import behaviour_of
from simrun.tactics.own.hooks import check_answers, hooks_for

Array = NDArray[np.float64]
Progress = Callable[[float], None]

CHUNK_S = 5.0
"""The race is carried out in pieces of so many seconds, so that it can report and be stopped."""


class Race:
    """One race in progress: the arrays of the moment and the clock. Meant to be stepped from outside.

    alone: everybody runs as if nobody else were there. frames: whether positions are written down.
    racing: what a race for places needs; None: everybody runs their own plan and nothing else. own: a
    behaviour of one's own.
    """

    def __init__(
        self,
        scenario: Scenario,
        roster: Roster,
        stand: Array,
        margins: tuple[Array, Array],
        *,
        alone: bool = False,
        frames: bool = True,
        settings: Settings | None = None,
        racing: Racing | None = None,
        own: Behaviour | None = None,
    ) -> None:
        self.scenario, self.roster, self.alone, self.racing = scenario, roster, alone, racing
        self.settings = settings or settings_of("runner")
        clock = scenario.clock
        if frames:
            check_frames(clock.limit_s, clock.frame_s, clock.step_s, len(roster))
        self.step_s, self.steps_done = clock.step_s, 0
        self.last_step = round(clock.limit_s / clock.step_s)
        self.frame_every = round(clock.frame_s / clock.step_s) if frames else 0
        wait = roster.reaction_s + sound_delay_s(scenario.start_line, stand)
        self.ground = ground_of(scenario.strip)
        front, raced = racing or (None, None)
        # Alone nobody is in a line, so none is shifted.
        gives = None if alone else gives_m(scenario.strip)
        self.own = own
        hooks = None if own is None else hooks_for(own, roster.team, scenario.our_team)
        self.ways = ways_of(roster, margins, scenario.strip.obstacles, front, raced, gives, hooks)
        room_m = self.settings.bend_rounding_room_m
        self.bodies = bodies_at(stand, wait, scenario.strip, self.ground, roster, room_m)
        length_m = scenario.strip.length_m
        kind = _kind_of(racing, alone)
        self.bodies["races"][: len(roster)] = kind
        self.bodies["course_share"] = course_share(self.ground, length_m)
        to_m = length_m if kind == RACES else 0.0
        self.scratch = scratch_for(len(self.bodies), self.settings, to_m)
        self.watch = Watch(self.bodies, len(roster), len(scenario.strip.obstacles_m))
        self.watch_every = max(1, round(LOOKS_S / clock.step_s))
        frame_count = self.last_step // self.frame_every + 1 if frames else 0
        marks = len(scenario.strip.checkpoints)
        self.mark_m: Array | None = None
        self.marked_s = np.full(len(roster), np.nan)
        self.tape: Tape = tape_for(len(roster), frame_count, marks, to_m)

    def end_at(self, mark_m: Array) -> None:
        """Let the race end once all are at marks of their own, (N,) metres; `marked_s` (N,) says when."""
        self.mark_m, self.last_step = mark_m, round(LONGEST_S / self.step_s)

    @property
    def raced(self) -> Array:
        """The mean ratio of raced to planned wish, (N, B), one a RACED_BIN_M; 1 where none was noted."""
        times = self.tape.raced_times
        return np.where(times > 0, self.tape.raced_sum / np.maximum(times, 1.0), 1.0)

    @property
    def t_s(self) -> float:
        """Seconds since the gun."""
        return self.steps_done * self.step_s

    @property
    def is_over(self) -> bool:
        """Has everybody crossed the last checkpoint, or has the time limit passed?"""
        done = not np.isnan(self.tape.crossing_s[:, -1]).any()
        return done or self.steps_done >= self.last_step

    def advance(self, steps: int) -> None:
        """Run so many steps, not beyond the limit."""
        steps = min(steps, self.last_step - self.steps_done)
        until = self.steps_done + steps
        while self.steps_done < until:
            go_on()
            asked = min(
                until - self.steps_done, self.watch_every - self.steps_done % self.watch_every
            )
            ran = self._run(asked)
            self.steps_done += ran
            if self.steps_done % self.watch_every == 0:
                self.watch.look(self.bodies, self.t_s)
            if ran < asked:
                return

    def _run(self, steps: int) -> int:
        ran = run_steps(
            self.steps_done,
            steps,
            self.step_s,
            self.frame_every,
            int(self.alone),
            self.bodies,
            self.ways,
            self.ground,
            self.settings,
            self.tape,
            self.scratch,
        )
        if self.own is not None:
            check_answers(self.ways.own, self.own, self.roster.name)
        return ran

    def station_m(self, bodies: Records | None = None) -> Array:
        """How far along the measured line is every runner, or each of these bodies? (N,)"""
        asked = self.runners if bodies is None else bodies
        return np.asarray(stations_m(self.ground, self.scenario.strip.station_m, asked))

    @property
    def runners(self) -> Records:
        """The records of the runners, (N,), without the fixed bodies."""
        return self.bodies[: len(self.roster)]

    def run(self, progress: Progress | None = None) -> Race:
        """Run to the end; `progress` is told the share of the field's way that is done."""
        if self.mark_m is not None:
            self.marked_s = mark_s(self, self.mark_m)
        chunk = max(1, round(CHUNK_S / self.step_s))
        while self.mark_m is None and not self.is_over:
            self.advance(chunk)
            if progress:
                progress(float(np.isfinite(self.tape.crossing_s).mean()))
        return self


def run_race(
    scenario: Scenario,
    seed: int = 1,
    *,
    progress: Progress | None = None,
    settings: Settings | None = None,
    frames: bool = True,
    threads: bool = True,
) -> Recording:
    """Run one race and the alone-runs that its time lost is measured against.

    The same scenario, seed and version give the same bits. threads: alone-runs go beside the race and each
    other, not one after the other. Raises CannotSimulate where the runners cannot be placed, BadInput where
    the frames would be more than a recording holds.
    Check: tests/properties/test_same_answer.py.
    """
    field = field_of(scenario, seed, settings=settings, frames=frames)
    if field.racing is not None:  # alone they wish for what was raced: that comes first
        return recording_of(field.run(progress), seed, threads)
    runs = _beside(field)
    return frames_of(field, seed, runs.alone(threads, lambda: field.run(progress)))


def field_of(scenario: Scenario, seed: int, **options: Any) -> Race:
    """The whole field of this seed on the line, each with their own way; options as of Race.

    Settings are those of this day and seed unless others are given.
    """
    return told_by(field_stages(scenario, seed, **options))


def field_stages(scenario: Scenario, seed: int, **options: Any) -> Stages[Race]:
    """`field_of` in stages: of a race for places, everybody's opening is found first, alone."""
    roster = scenario.roster(seed)
    stand = stand_m(scenario.start_line, roster)
    settings = options.get("settings") or settings_for(scenario, seed)
    options = {"own": behaviour_of(scenario), **options, "settings": settings}
    own = own_margins(scenario.strip, roster, settings.bend_rounding_room_m)
    if scenario.field.racing == "on":
        roster = yield from entering_stages(scenario, roster, stand, own, settings)
        options = {"racing": Racing(front_of(roster, settings)), **options}
    return Race(scenario, roster, stand, own, **options)


def entered(*told: Any) -> Roster:
    """As `entering_stages`, whose races are run here one after the other."""
    return told_by(entering_stages(*told))


def entering_stages(
    scenario: Scenario,
    roster: Roster,
    stand: Array,
    own: tuple[Array, Array],
    settings: Settings,
) -> Stages[Roster]:
    """The people of a day with racing: pace as seed times say, the opening as a split, something in hand."""
    ground, length_m = ground_of(scenario.strip), scenario.strip.length_m
    usual = course_share(ground_of(scenario.strip.on_a_usual_day), length_m)
    roster = on_this_ground(roster, scenario.field.seed_share(usual))

    def alone_race(some: Roster) -> Race:
        plan = Racing(np.zeros(0))
        options: dict[str, Any] = {"alone": True, "frames": False, "settings": settings}
        return Race(scenario, some, stand, own, racing=plan, **options)

    gun_s = scenario.wave_wait_s(roster.box, roster.team_index, roster.cruise_m_s)
    roster = yield from opening_solved(roster, alone_race, gun_s, settings)
    return with_hand_kept(roster, ground, length_m, settings)


def _kind_of(racing: Racing | None, alone: bool) -> int:
    """How does everybody of such a race race?"""
    if racing is None:
        return NO_RACING
    if racing.raced is not None:
        return REPLAYS
    return PLAN_ONLY if alone else RACES


def recording_of(field: Race, seed: int, threads: bool = True) -> Recording:
    """What happened in a race, with the alone-runs that its time lost is measured against."""
    return frames_of(field, seed, _beside(field).alone(threads))


def _beside(field: Race) -> AloneRuns:
    """The alone-runs that belong to a race."""
    scenario, roster = field.scenario, field.roster
    own = (field.ways.margin_left, field.ways.margin_right)
    stand, tracked = stand_m(scenario.start_line, roster), field.frame_every > 0
    racing = raced_in(field)
    return alone_runs(scenario, roster, stand, own, field.settings, tracked=tracked, racing=racing)


def frames_of(field: Race, seed: int, alone: Alone) -> Recording:
    """What happened in a race whose alone-runs, all or some, were run already."""
    # A frame is written when its step begins: the moment after the last step has none.
    kept = -(-field.steps_done // field.frame_every) if field.frame_every else 0
    return Recording(
        scenario=field.scenario,
        seed=seed,
        version=VERSION,
        engine=running_engine(),
        roster=field.roster,
        times_s=np.arange(kept, dtype=float) * field.scenario.clock.frame_s,
        position_m=field.tape.position[:kept],
        speed_cm_s=field.tape.speed_cm_s[:kept],
        wished_cm_s=field.tape.wished_cm_s[:kept],
        crossing_s=field.tape.crossing_s.copy(),
        reserve_m=field.tape.reserve_m.copy(),
        alone_reserve_m=alone.reserve_m,
        alone_s=alone.alone_s,
        raced_s=alone.raced_s,
        shortest_s=alone.shortest_s,
        best_s=alone.best_s,
        best_box=alone.best_box,
        tracks=straightened(alone.tracks),
        stood_s=field.watch.stood_s.copy(),
        stood_m=field.station_m(field.watch.stood),
        peak_overlap=float(field.tape.overlap[0]),
    )


def alone_runs(
    scenario: Scenario,
    roster: Roster,
    stand: Array,
    own: tuple[Array, Array],
    settings: Settings | None = None,
    box: int | None = None,
    tracked: bool = False,
    racing: Racing | None = None,
) -> AloneRuns:
    """Everybody alone, about to start: own line, shortest line, and shortest line from the best box.

    Alone is the same person with the same plan and start, the front's pace known, and nobody near. racing:
    of a race for places, with what was raced in it: then their own line is run once more, wishing for that.

    There is one best box a race, see `best_box`; `box` where that is known already. tracked: keep the
    tracks by place, for the account of a recording with frames. The same kernel with meetings switched
    off, so the step error cancels.
    """
    options: dict[str, Any] = {"alone": True, "frames": False, "settings": settings}
    shortest = shortest_margins(scenario.strip, len(roster), _room_m(options))
    box = best_box(scenario, roster, options) if box is None else box
    options["racing"] = racing and racing._replace(raced=None)
    options["own"] = behaviour_of(scenario)
    ways = [
        Race(scenario, roster, stand, own, **options),
        Race(scenario, roster, stand, shortest, **options),
        from_box(scenario, roster, box, options),
    ]
    if racing is not None:
        ways.append(Race(scenario, roster, stand, own, **(options | {"racing": racing})))
    return AloneRuns(ways, box, tracked)


def _room_m(options: dict[str, Any]) -> float | None:
    """How far off the string does a race of these options round a corner? None: as the figure says."""
    settings: Settings | None = options.get("settings")
    return settings and settings.bend_rounding_room_m


def raced_in(field: Race) -> Racing | None:
    """What was raced in a race, for a replay alone; None where nobody races for places."""
    return field.racing and field.racing._replace(raced=field.raced)


def from_box(scenario: Scenario, roster: Roster, box: int, options: dict[str, Any]) -> Race:
    """Everybody alone on the shortest line from the middle of one box, about to start."""
    shortest = shortest_margins(scenario.strip, len(roster), _room_m(options))
    place = np.tile(scenario.start_line.stand_middle_m(box), (len(roster), 1))
    return Race(scenario, roster, place, shortest, **(options | {"own": behaviour_of(scenario)}))


SOUND_STEPS = 1.5
"""So many steps may waiting for the sound set equal boxes apart: up to one too many, up to a half too few."""


def best_box(scenario: Scenario, roster: Roster, options: dict[str, Any]) -> int:
    """From which box is the last mark reached first, alone on the shortest line? One box for all marks.

    Where the time limit lets no box reach it, the last mark that is reached decides. Of equal boxes (on an
    arc, say) it is the one nearest to the middle of the line. Waiting for the sound is whole steps, one at
    least (`laws.set_off`): where no two boxes lie further apart than that can make equal ones, the middle one
    stands for all; else two that lie no further apart may be taken for each other, the same for everybody.
    Check: tests/oracle/test_seconds.py, tests/oracle/test_alone_runs.py.
    """
    return best_of(race_of_boxes(scenario, roster, options).run())


def race_of_boxes(scenario: Scenario, roster: Roster, options: dict[str, Any]) -> Race:
    """One and the same runner alone on the shortest line from the middle of every box, about to start."""
    count = scenario.start_line.spec.boxes
    alike = roster.one_runner_as_many(count)
    stand = np.array([scenario.start_line.stand_middle_m(b + 1) for b in range(count)])
    margins = shortest_margins(scenario.strip, count, _room_m(options))
    return Race(scenario, alike, stand, margins, **options)


def best_of(boxes: Race) -> int:
    """The best box of such a race that was run."""
    times, line = boxes.tape.crossing_s, boxes.scenario.start_line
    count = len(times)
    stand = np.array([line.stand_middle_m(b + 1) for b in range(count)])
    from_middle = np.abs(np.arange(count) - (count - 1) / 2)
    reached = np.flatnonzero(np.isfinite(times).any(axis=0))
    last = times[:, reached[-1]] if len(reached) else np.zeros(count)
    order = np.round(last - sound_delay_s(line, stand), 4)
    if np.nanmax(order) - np.nanmin(order) <= SOUND_STEPS * boxes.step_s:
        order = np.where(np.isnan(order), np.nan, 0.0)
    return int(np.nanargmin(order + 1e-7 * from_middle)) + 1
