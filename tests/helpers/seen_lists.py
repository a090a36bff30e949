"""What people would bring home from a race of ours: sources for learning, and their lists as files."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np

from simrun.trials.learning.lesson import Source
from simrun.trials.learning.seen_figures import figures_of, pair_gaps_s
from simrun.trials.learning.seen_races import APEX, START_MAT, Watched
from simrun.trials.learning.sightings import (
    ABREAST,
    GAP,
    RATE,
    SECTION,
    SPLITS,
    STARTS,
    THIRDS,
    Sighting,
)
from simrun.trials.races import Outcome

PAIRS, TRIES = 15, 3


def marks_timed(watched: Watched) -> list[str]:
    """Where there were mats: at the first three marks of the day's own file, in the order of the course."""
    written = [mark["name"] for mark in watched.day.document["course"]["checkpoints"]]
    own = [name for name in written if name != START_MAT and APEX not in name]
    return sorted(own[:3], key=watched.mark)


def everything_seen(watched: Watched) -> list[Source]:
    """Every kind of sighting once, as many of each as people bring home; the numbers stand for nothing."""
    marks, count = marks_timed(watched), watched.day.runners
    throat = next(gate.name for gate in watched.day.strip.gates if gate.kind == "throat")
    times = tuple(np.linspace(10.05, 90.05, count))
    splits = [Sighting(SPLITS, (mark,), times) for mark in marks]
    splits += [Sighting(SECTION, pair, times) for pair in pairwise(marks)]
    counts = [
        Sighting(THIRDS, (next(iter(watched.corners)),), (float(count), 0.0, 0.0)),
        Sighting(GAP, (marks[-1],), (1.0,) * PAIRS),
        Sighting(RATE, (throat,), (100.0,)),
        Sighting(ABREAST, (throat,), (3.0,) * TRIES),
        Sighting(STARTS, (START_MAT,), times),
    ]
    return [Source("splits", tuple(splits)), *(Source(each.name, (each,)) for each in counts)]


def write_lists(watched: Watched, race: Outcome, folder: Path) -> tuple[Path, Path, Path]:
    """Results, counts and starts of one race, as the people who timed and counted it would save them."""
    errors = np.random.default_rng(5)
    marks = marks_timed(watched)
    at = [watched.mark(mark) for mark in marks]
    crossed = race.crossing_s + 0.1 * errors.standard_normal(race.crossing_s.shape)
    rows = [",".join(["place", "time", *marks])]
    for place, i in enumerate(np.argsort(race.crossing_s[:, -1]), start=1):
        rows.append(
            ",".join([str(place), _clock(crossed[i, -1]), *(_clock(crossed[i, a]) for a in at)])
        )
    results = _written(folder / "results.csv", rows)
    net = race.crossing_s[:, watched.mark(START_MAT)]
    starts = [
        f"{_clock(600.0 + wait + error)},{_clock(600.0)}"
        for wait, error in zip(
            np.maximum(net, 0.1), 0.1 * np.abs(errors.standard_normal(len(net))), strict=True
        )
    ]
    return (
        results,
        _counts(watched, race, folder),
        _written(folder / "starts.csv", ["gun,net", *starts]),
    )


def _counts(watched: Watched, race: Outcome, folder: Path) -> Path:
    rows, mark = [], marks_timed(watched)[-1]
    for apex in list(watched.corners)[:1]:
        seen = Sighting(THIRDS, (apex,), (float(watched.day.runners), 0.0, 0.0))
        thirds = np.round(figures_of(watched, race, [seen], 7)[0] * watched.day.runners)
        told = zip(("inside", "middle", "outside"), thirds, strict=True)
        rows += [f"{word},{apex.removesuffix(APEX)},{n:.0f}" for word, n in told]
    at = watched.mark(mark)
    order = np.argsort(race.crossing_s[:, at])
    assert race.across is not None
    gaps = pair_gaps_s(race.crossing_s[order, at], race.across[order, at] * watched.width_m[at])
    rows += [f"gap,{mark},{gap:.2f}" for gap in gaps[:PAIRS]]
    return _written(folder / "counts.csv", ["what,at,seen", *rows])


def _clock(seconds: float) -> str:
    return f"{int(seconds // 60)}:{seconds % 60:04.1f}"


def _written(path: Path, rows: list[str]) -> Path:
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path
