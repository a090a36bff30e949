"""What of one race does a study keep, and how is a group of races run in a worker?"""

from __future__ import annotations

import io
import json
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadRecording, CannotSimulate, SimrunError
from simrun.engine.alone import nobody_alone
from simrun.engine.batch.together import CPU, GPU, run_together
from simrun.engine.entering import Stages
from simrun.engine.field import stand_m
from simrun.engine.run import (
    Race,
    alone_runs,
    best_of,
    field_of,
    field_stages,
    frames_of,
    from_box,
    race_of_boxes,
    raced_in,
    run_race,
)
from simrun.engine.set_back import SetBack, run_set_back
from simrun.measure.crowd import (
    CrowdFigures,
    across_shares,
    as_array,
    from_array,
    slowest_to_marks,
)
from simrun.measure.crowd_places import crowd_figures, crowd_in_all
from simrun.measure.loss import clear_places, places
from simrun.runners.roster import Roster
from simrun.scenario.scenario import Scenario
from simrun.state.recording import Recording
from simrun.state.recording_file import DAMAGE
from simrun.tactics.own.given import fetch

Array = NDArray[np.float64]

Races = tuple[tuple[str, int], ...]
"""Some races by digest of the arm and seed."""

Row = tuple[str, int, bytes]
"""One race as it is kept: digest of the arm, seed, outcome in bytes."""

ALONE = ("alone_s", "shortest_s", "best_s", "raced_s")
TIMES = ("crossing_s", *ALONE, "reserve_m")
PLACES = ("place", "clear_place")
STOOD = ("stood_s", "stood_m")
AT_MARKS = ("across", "slowest_m_s")
"""What is kept of a race that was watched at its marks."""


@dataclass(frozen=True)
class Outcome:
    """One race without its frames: N runners, C checkpoints; nan where there is no time.

    team_index, box, row (N,): whole numbers; line (N,): text. crossing_s, alone_s, shortest_s, best_s,
    raced_s, reserve_m (N, C) as in a Recording. place, clear_place (N, C): the place taken, and the one of
    their own ability, see `measure.loss.clear_places`. stood_s, stood_m (N,): the longest time in one place
    and where, see Recording. crowd: of a race that was watched as a crowd. across (N, C): where across the
    course every mark was passed, 0 left to 1 right, and slowest_m_s (N, C): the slowest speed on the way to
    it from the mark before, of a race that was watched at its marks.
    """

    team_index: NDArray[Any]
    box: NDArray[Any]
    row: NDArray[Any]
    line: NDArray[np.str_]
    crossing_s: Array
    alone_s: Array
    shortest_s: Array
    best_s: Array
    raced_s: Array
    reserve_m: Array
    place: Array
    clear_place: Array
    stood_s: NDArray[np.float32]
    stood_m: NDArray[np.float32]
    crowd: CrowdFigures | None = None
    across: Array | None = None
    slowest_m_s: Array | None = None


def race_outcome(
    scenario: Scenario, seed: int, watched: str | None = None, from_best: bool = False
) -> Outcome:
    """Run one race for a study; watched, from_best: as of a Plan, which alone-runs are wanted."""
    return run_stages([stages_of(scenario, seed, watched, from_best)])[0]


def stages_of(
    scenario: Scenario, seed: int, watched: str | None = None, from_best: bool = False
) -> Stages[Outcome]:
    """The stages of one race for a study, see Stages; watched, from_best: as of a Plan."""
    if from_best:
        return _from_best(scenario, seed)
    return _with_everybody(scenario, seed) if watched is None else _watched(scenario, seed, watched)


def run_stages(many: Sequence[Stages[Outcome]], engine: str = CPU) -> list[Outcome]:
    """Run each of them to its end, all races of a stage together."""
    found: dict[int, Outcome] = {}
    while len(found) < len(many):
        asked: list[Race] = []
        for number, stages in enumerate(many):
            if number not in found:
                try:
                    asked += next(stages)
                except StopIteration as over:
                    found[number] = over.value
        run_together(asked, engine)
    return [found[number] for number in range(len(many))]


def _with_everybody(scenario: Scenario, seed: int) -> Stages[Outcome]:
    """The whole field, and everybody's alone-runs."""
    field = yield from field_stages(scenario, seed, frames=False)
    yield [field]
    boxes = _boxes(field)
    yield [boxes]
    roster, own = field.roster, (field.ways.margin_left, field.ways.margin_right)
    stand, box, racing = stand_m(scenario.start_line, roster), best_of(boxes), raced_in(field)
    alone = alone_runs(scenario, roster, stand, own, field.settings, box, racing=racing)
    yield alone.ways
    return outcome_of(frames_of(field, seed, alone.told()))


def _watched(scenario: Scenario, seed: int, team: str) -> Stages[Outcome]:
    """The whole field, but alone-runs of one team only: the same bits for its rows."""
    field = yield from field_stages(scenario, seed, frames=False)
    yield [field]
    roster = field.roster
    rows = np.flatnonzero(roster.team == team)
    own = (field.ways.margin_left[rows], field.ways.margin_right[rows])
    stand = stand_m(scenario.start_line, roster)[rows]
    # The best box is that of the whole field's median runner, as in a race with everybody's.
    boxes = _boxes(field)
    yield [boxes]
    box, racing = best_of(boxes), raced_in(field)
    racing = racing and racing._replace(raced=field.raced[rows])
    some = rows_of(roster, rows)
    alone = alone_runs(scenario, some, stand, own, field.settings, box, racing=racing)
    yield alone.ways
    return outcome_of(cast(Recording, _WatchedRace(field, rows, alone.told())))


def _from_best(scenario: Scenario, seed: int) -> Stages[Outcome]:
    """The whole field; of the alone-runs only those from the best box."""
    field = yield from field_stages(scenario, seed, frames=False)
    yield [field]
    boxes = _boxes(field)
    yield [boxes]
    box = best_of(boxes)
    best = from_box(scenario, field.roster, box, _alone(field) | {"racing": field.racing})
    yield [best]
    alone = nobody_alone(best.tape.crossing_s, best.tape.crossing_s, box)
    return outcome_of(frames_of(field, seed, alone))


def _boxes(field: Race) -> Race:
    """The race that tells the best box of this field."""
    return race_of_boxes(field.scenario, field.roster, _alone(field))


def _alone(field: Race) -> dict[str, Any]:
    """What an alone-run beside this field is told."""
    return {"alone": True, "frames": False, "settings": field.settings}


def crowd_outcome(scenario: Scenario, seed: int) -> Outcome:
    """Run one race with its frames and the account of its time lost, and look at it as a crowd."""
    recording = run_race(scenario, seed, threads=False)
    return replace(outcome_of(recording), crowd=crowd_figures(recording))


def line_outcome(
    scenario: Scenario, seed: int, progress: Callable[[float], None] | None = None
) -> Outcome:
    """As much of `crowd_outcome` as says what a line costs, to the bit, in less than two thirds of its time.

    Of the alone-runs those from the best box, without tracks; of the crowd what needs no account, see
    `crowd_in_all`. progress: as of `Race.run`. Check: tests/unit/desk/test_estimates.py.
    """
    field = field_of(scenario, seed).run(progress)
    box = best_of(_boxes(field).run())
    best = from_box(scenario, field.roster, box, _alone(field) | {"racing": field.racing})
    crossing_s = best.run(progress).tape.crossing_s
    recording = frames_of(field, seed, nobody_alone(crossing_s, crossing_s, box))
    return replace(outcome_of(recording), crowd=crowd_in_all(recording))


def marks_outcome(scenario: Scenario, seed: int) -> Outcome:
    """Run one race; look where across everybody passes every mark, how slowly on the way. No alone-runs."""
    field = field_of(scenario, seed).run()
    recording = frames_of(field, seed, nobody_alone(field.tape.crossing_s))
    across, slowest = across_shares(recording), slowest_to_marks(recording)
    return replace(outcome_of(recording), across=across, slowest_m_s=slowest)


def set_back_outcome(scenario: Scenario, seed: int, told: SetBack) -> Outcome:
    """Run one race in which a team is set back at the gun. No alone-runs are run."""
    field = run_set_back(field_of(scenario, seed, frames=False), told)
    return outcome_of(frames_of(field, seed, nobody_alone(field.tape.crossing_s)))


def outcome_of(recording: Recording) -> Outcome:
    """What a study keeps of a recording."""
    roster = recording.roster
    return Outcome(
        team_index=roster.team_index.astype(np.int16),
        box=roster.box.astype(np.int16),
        row=roster.row.astype(np.int16),
        line=roster.line.astype("U12"),
        place=places(recording.crossing_s),
        clear_place=clear_places(recording),
        stood_s=recording.stood_s.astype(np.float32),
        stood_m=recording.stood_m.astype(np.float32),
        **{name: getattr(recording, name) for name in TIMES},
    )


class _WatchedRace:
    """As much of a Recording as an outcome is made of, nan for everybody who is not watched."""

    def __init__(self, field: Race, rows: NDArray[Any], alone: Any) -> None:
        self.crossing_s, self.roster = field.tape.crossing_s, field.roster
        self.reserve_m = field.tape.reserve_m
        self.stood_s, self.stood_m = field.watch.stood_s, field.station_m(field.watch.stood)
        self.alone_s, self.shortest_s, self.best_s, self.raced_s = (
            np.full_like(self.crossing_s, np.nan) for _ in range(4)
        )
        for name in ALONE:
            getattr(self, name)[rows] = getattr(alone, name)


def rows_of(roster: Roster, rows: NDArray[Any]) -> Roster:
    """The same people, only those in these rows."""
    kept: dict[str, Any] = {"name": tuple(roster.name[i] for i in rows)}
    kept |= {
        field.name: getattr(roster, field.name)[rows]
        for field in fields(Roster)
        if field.name not in ("name", "team_names")
    }
    return replace(roster, **kept)


def packed(outcome: Outcome) -> bytes:
    """An outcome as the bytes of one npy array, a record a runner, without pickled objects.

    Behind it, for a race that was watched as a crowd, its figures as `measure.crowd.as_array` has them.
    """
    count, marks = outcome.crossing_s.shape
    watched = [name for name in AT_MARKS if getattr(outcome, name) is not None]
    table = np.zeros(count, dtype=_record(marks, watched))
    for name in table.dtype.names or ():
        table[name] = (
            np.nan_to_num(getattr(outcome, name)) if name in PLACES else getattr(outcome, name)
        )
    stream = io.BytesIO()
    np.lib.format.write_array(stream, table, allow_pickle=False)
    if outcome.crowd is not None:
        stream.write(as_array(outcome.crowd).astype("<f8").tobytes())
    return stream.getvalue()


def unpacked(blob: bytes) -> Outcome:
    """The outcome in these bytes. Raises BadRecording where there is none."""
    try:
        stream = io.BytesIO(blob)
        version = np.lib.format.read_magic(stream)
        if version != (1, 0):
            raise ValueError(version)
        shape, _, dtype = np.lib.format.read_array_header_1_0(stream)
        marks = dtype["crossing_s"].shape[0]
        # What the head says is not believed: the bytes that are there are looked at, none is set aside.
        body, crowd = _split(blob[stream.tell() :], shape[0] * dtype.itemsize)
        watched = [name for name in AT_MARKS if name in (dtype.names or ())]
        table = np.frombuffer(body, dtype=_record(marks, watched))
        if table.shape != shape or dtype != table.dtype:
            raise ValueError(shape)
    except DAMAGE as wrong:
        raise BadRecording("a race in the store is damaged") from wrong
    columns = {name: table[name] for name in table.dtype.names or ()}
    columns |= {name: np.where(table[name] == 0, np.nan, table[name]) for name in PLACES}
    return Outcome(**columns, crowd=crowd)


def _split(data: bytes, length: int) -> tuple[bytes, CrowdFigures | None]:
    """The table's bytes, and the figures of the crowd behind it, where there are more."""
    rest = data[length:]
    if not rest:
        return data, None
    return data[:length], from_array(np.frombuffer(rest, dtype="<f8"))


def _record(marks: int, watched: Sequence[str] = ()) -> np.dtype[Any]:
    """One runner's record with so many checkpoints; watched: what of AT_MARKS is kept too."""
    each = (marks,)
    return np.dtype(
        [("team_index", "<i2"), ("box", "<i2"), ("row", "<i2"), ("line", "<U12")]
        + [(name, "<f8", each) for name in TIMES]
        + [(name, "<i2", each) for name in PLACES]
        + [(name, "<f4") for name in STOOD]
        + [(name, "<f4", each) for name in watched]
    )


def run_group(
    texts: dict[str, str],
    races: Races,
    watched: str | None = None,
    crowd: bool = False,
    engine: str = CPU,
) -> list[Row]:
    """Run some races in a worker: (digest, seed, outcome in bytes) each. Raises CannotSimulate.

    texts: what the arms say, by digest. crowd: look at every race as a crowd. On a card all are run together.
    """
    if engine == GPU:
        return _run_together(texts, races, watched)
    done = []
    for digest, seed in races:
        text = texts[digest]
        with _naming(text, seed):
            scenario, told = _scenario(text), _set_back(text)
            fetch(scenario)
            if told is not None:
                outcome = set_back_outcome(scenario, seed, told)
            elif crowd:
                outcome = crowd_outcome(scenario, seed)
            elif _told_to(text, "at_marks"):
                outcome = marks_outcome(scenario, seed)
            else:
                outcome = race_outcome(scenario, seed, watched, _told_to(text, "from_best"))
        done.append((digest, seed, packed(outcome)))
    return done


def goes_together(day: Scenario, text: str, crowd: bool) -> bool:
    """Can the races of this arm be run together, on a card? Not where frames are looked at, somebody is set
    back or goes by a behaviour of one's own: those are run one by one."""
    own = day.behaviour is not None
    return not (crowd or own or _set_back(text) or _told_to(text, "at_marks"))


def _run_together(texts: dict[str, str], races: Races, watched: str | None) -> list[Row]:
    many = [_stages(texts[digest], seed, watched) for digest, seed in races]
    outcomes = run_stages(many, GPU)
    return [(*race, packed(outcome)) for race, outcome in zip(races, outcomes, strict=True)]


def _stages(text: str, seed: int, watched: str | None) -> Stages[Outcome]:
    """As `stages_of`; what is wrong is told with the race's name, at whatever stage it comes out."""
    with _naming(text, seed):
        return (yield from stages_of(_scenario(text), seed, watched, _told_to(text, "from_best")))


@contextmanager
def _naming(text: str, seed: int) -> Iterator[None]:
    """Whatever is wrong with a race is told with its name."""
    try:
        yield
    except SimrunError as wrong:
        raise CannotSimulate(f"{_scenario(text).name!r} with seed {seed}: {wrong}") from None


@lru_cache(maxsize=32)
def _scenario(text: str) -> Scenario:
    return Scenario.from_json(text)


@lru_cache(maxsize=32)
def _set_back(text: str) -> SetBack | None:
    told = json.loads(text).get("set_back")
    return told and SetBack(**told)


@lru_cache(maxsize=64)
def _told_to(text: str, word: str) -> bool:
    return bool(json.loads(text).get(word))
