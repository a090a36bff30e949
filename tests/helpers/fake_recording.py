"""A recording that no engine made: runners on rails, in an invented world, to test pictures with.

The ground: a line of 60 m with 24 boxes, 150 m of hay meadow, a gateway that narrows to 8 m within
40 m, a sharp left turn of 90 degrees round a barn, and a trail of 3 m. Nobody meets anybody; who
is "slowed" is written in by hand, so a test knows who must be shown so.
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np

from simrun.course.start import StartSpec, build_start_line
from simrun.course.strip import EdgeKind, Gate, Mark, Side, Strip
from simrun.runners.roster import Roster
from simrun.state.recording import Recording

TEAMS = tuple(
    "Alderbrook Birchmoor Cold-Acre Dunmere Elmstead Fennick Garth-End Holloway Inglemoor Joyce-Hill "
    "Kestrel-Low Larkrise Mossdale Nettlebed Osier-Bank Pale-Water Quernstow Rushy-Mead Saltmarsh "
    "Thornwick Upper-Lea Vetchfield Withy-Bed Yarrow-Top".split()
)

OURS = "Pale-Water"


def strip(turn: Side = Side.LEFT) -> Strip:
    """The course; `turn` says to which side it turns at the barn."""
    left, right, kinds_left, kinds_right, section = _straight()
    _bend(left, right, kinds_left, kinds_right, section)
    left_m, right_m = np.array(left), np.array(right)
    if turn == Side.RIGHT:
        left_m, right_m = right_m * [1, -1], left_m * [1, -1]
        kinds_left, kinds_right = kinds_right, kinds_left
    middle = (left_m + right_m) / 2
    station = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(middle, axis=0).T))]) - 10.0
    count = len(left_m)
    bend_cuts = np.flatnonzero(np.array(section) == 2)
    gates = (
        Gate("gateway", "throat", 18, 26),
        Gate("barn corner", "turn", int(bend_cuts[0]), int(bend_cuts[-1]), turn),
    )
    nothing = np.zeros(count)
    return Strip(
        left_m=left_m,
        right_m=right_m,
        station_m=station,
        height_m=nothing,
        footing=np.ones(count - 1),
        left_edge=np.array(kinds_left[: count - 1], dtype=np.int8),
        right_edge=np.array(kinds_right[: count - 1], dtype=np.int8),
        bend_side=nothing.astype(np.int8),
        bend_radius_m=np.full(count, np.inf),
        bend_angle_rad=nothing,
        gate_of_cut=np.full(count, -1, dtype=np.int16),
        gates=gates,
        section=np.array(section[: count - 1], dtype=np.int16),
        section_names=("hay meadow", "gateway", "barn corner", "flood bank"),
        finish_cut=count - 3,
        landmarks=(Mark("big oak", 95.0), Mark("water trough", 290.0)),
        checkpoints=(Mark("150 m", 150.0), Mark("400 m", 400.0)),
    )


def _straight():
    left, right, kinds_left, kinds_right, section = [], [], [], [], []
    for x in [
        -10.0,
        *np.linspace(0, 150, 18)[1:],
        *np.linspace(150, 190, 9)[1:],
        *range(195, 236, 10),
    ]:
        half = 30.0 if x <= 150 else 30.0 + (4.0 - 30.0) * min(1.0, (x - 150) / 40)
        left.append((x, half))
        right.append((x, -half))
        kinds_left.append(EdgeKind.MARKED if x < 150 else EdgeKind.BARRIER)
        kinds_right.append(EdgeKind.OPEN if x < 150 else EdgeKind.BARRIER)
        section.append(0 if x < 150 else 1)
    return left, right, kinds_left, kinds_right, section


def _bend(left, right, kinds_left, kinds_right, section) -> None:
    """Round a corner of 2 m inside radius, then 300 m of trail that narrows from 8 m to 3 m."""
    centre = np.array([235.0, 6.0])
    for angle in np.linspace(-np.pi / 2, 0, 7):
        out = np.array([np.cos(angle), np.sin(angle)])
        left.append(tuple(centre + 2.0 * out))
        right.append(tuple(centre + 10.0 * out))
        kinds_left.append(EdgeKind.BARRIER)
        kinds_right.append(EdgeKind.MARKED)
        section.append(2)
    for y in np.linspace(0, 300, 31)[1:]:
        wide = max(3.0, 8.0 - y * 0.125)
        left.append((237.0, 6.0 + y))
        right.append((237.0 + wide, 6.0 + y))
        kinds_left.append(EdgeKind.MARKED)
        kinds_right.append(EdgeKind.MARKED)
        section.append(3)


def roster(count: int) -> Roster:
    """`count` runners over the 24 boxes, in rows of three."""
    who = np.arange(count)
    team, place = who % len(TEAMS), who // len(TEAMS)
    ones = np.ones(count)
    random = np.random.default_rng(7)
    return Roster(
        name=tuple(f"Runner {i + 1}" for i in range(count)),
        team_names=TEAMS,
        team_index=team,
        box=team + 1,
        row=place // 3 + 1,
        file=place % 3,
        radius_m=0.23 * ones,
        cruise_m_s=random.normal(4.8, 0.3, count),
        opening=0.1 * ones,
        opening_m=150 * ones,
        settle_m=100 * ones,
        reaction_s=random.uniform(0.15, 0.4, count),
        choice=np.full((count, 2), "own"),
        inside_m=np.zeros((count, 2)),
        throat_share=np.zeros(count),
        pull=ones,
        wander=np.ones((count, 1)),
    )


def recording(
    count: int = 200,
    seconds: float = 90.0,
    *,
    our_team: str | None = OURS,
    name: str = "Low Meadow farm race",
    turn: Side = Side.LEFT,
    units: str = "metric",
    line_width_m: float = 60.0,
) -> Recording:
    """A race of so many runners over so many seconds, ten records a second."""
    ground, people = strip(turn), roster(count)
    spec = StartSpec(line_width_m, "straight", None, line_width_m / len(TEAMS), len(TEAMS), 3)
    start = build_start_line(spec)
    times = np.arange(round(seconds * 10) + 1) / 10
    stand = start.stand_m(people.box, people.row, people.file, np.full(count, 3))
    wished, speed = _speeds(times, people)
    along = np.cumsum(speed, axis=0) * 0.1
    scenario = SimpleNamespace(
        name=name, strip=ground, start_line=start, our_team=our_team, invented=True, units=units
    )
    nothing = np.full((count, 2), np.nan)
    return Recording(
        scenario=scenario,
        seed=1,
        version="0",
        roster=people,
        times_s=times,
        position_m=_on_rails(ground, stand, along).astype(np.float32),
        speed_m_s=speed.astype(np.float32),
        wished_m_s=wished.astype(np.float32),
        crossing_s=nothing,
        alone_s=nothing,
        shortest_s=nothing,
        best_s=nothing,
        best_box=np.ones(2, dtype=np.int64),
        peak_overlap=0.0,
    )


def _speeds(times, people):
    """Everybody gets going within seconds; between 34 and 44 s every fourth runs at a third."""
    running = np.clip(times[:, None] - people.reaction_s, 0, None)
    fade = 1 + people.opening * np.clip(1.5 - running / 40, 0, 1)
    wished = people.cruise_m_s * fade
    speed = wished * (1 - np.exp(-running / 1.2))
    jam = (times[:, None] > 34) & (times[:, None] < 44) & (np.arange(len(people)) % 4 == 1)
    return wished, np.where(jam, speed / 3, speed)


def _on_rails(ground, stand, along):
    """Everybody keeps their own share of the width, (T, N, 2)."""
    station = stand[:, 0] + along
    share = np.clip(0.5 - stand[:, 1] / 60, 0.04, 0.96)
    at = [
        [np.interp(station, ground.station_m, edge[:, axis]) for axis in (0, 1)]
        for edge in (ground.left_m, ground.right_m)
    ]
    left, right = np.stack(at[0], axis=-1), np.stack(at[1], axis=-1)
    place = left + (right - left) * share[None, :, None]
    place[station > ground.station_m[-1]] = np.nan
    return place
