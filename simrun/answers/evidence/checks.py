"""How does the model stand against what is published? One row a figure, for the page and for the tests.

A row that misses says what in the model makes it miss; its band is never widened.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from simrun.answers.evidence import check_rows as rows
from simrun.answers.evidence.check_kinds import Check
from simrun.answers.evidence.experiments import corner as corner
from simrun.answers.evidence.experiments import flow as flow
from simrun.answers.evidence.experiments import queue as queue
from simrun.answers.evidence.experiments.arena import crowd_of
from simrun.answers.evidence.experiments.data import ten_mile_start


@dataclass(frozen=True)
class Group:
    """One experiment and the rows that are read off it; `run(quick)` carries it out."""

    name: str
    run: Callable[[bool], Any]
    judge: Callable[[Any], tuple[Check, ...]]


def seeds(quick: bool, few: int = 10, many: int = 12) -> Sequence[int]:
    """Which seeds are run? Never fewer than ten where a sign is asked for."""
    return range(1, (few if quick else many) + 1)


RUNNERS = crowd_of("runner", 5.0)
WALKERS = crowd_of("walker", 1.34)

GROUPS: tuple[Group, ...] = (
    Group(
        "runners in a corridor",
        lambda quick: flow.closed_corridor(RUNNERS, rows.RUNNER_DENSITIES),
        rows.runners_corridor_rows,
    ),
    Group(
        "walkers in a corridor",
        lambda quick: flow.closed_corridor(WALKERS, tuple(rows.WALKER_DENSITIES)),
        rows.walkers_corridor_rows,
    ),
    Group(
        "runners at a throat",
        lambda quick: flow.runners_throat(RUNNERS, (2, 4, 6, 8), seeds(quick, few=12)),
        rows.runners_throat_rows,
    ),
    Group(
        "walkers at a bottleneck",
        lambda quick: flow.walkers_bottleneck(
            WALKERS, (0.8, 1.2, 1.6, 2.0, 2.4), range(1, 2 if quick else 4)
        ),
        rows.walkers_bottleneck_rows,
    ),
    Group(
        "start wave",
        lambda quick: {
            (c.kind, gap): flow.start_wave(c, gap)
            for c in (RUNNERS, WALKERS)
            for gap in rows.ROW_GAPS_M
        },
        rows.start_waves_rows,
    ),
    Group("single file", lambda quick: flow.single_file(RUNNERS, (2, 3, 4)), rows.single_file_rows),
    Group(
        "corner sides",
        lambda quick: {
            c.kind: corner.corner_sides(c, (1.5, 3.0), seeds(quick, 10, 24))
            for c in (RUNNERS, WALKERS)
        },
        rows.corner_rows,
    ),
    Group(
        "twenty round a corner",
        lambda quick: corner.twenty_round_a_corner(WALKERS),
        rows.twenty_rows,
    ),
    Group(
        "inside or outside",
        lambda quick: corner.flip_chart(
            (210,) if quick else (70, 140, 210),
            (0.0, 1.0) if quick else (0.0, 0.25, 0.5, 0.7, 0.85, 1.0),
            range(1, 11),
        ),
        rows.flip_rows,
    ),
    Group("closed forms", lambda quick: None, rows.closed_forms_rows),
    Group(
        "all at once",
        lambda quick: queue.instant_arrival(RUNNERS, range(1, 5 if quick else 9)),
        rows.instant_rows,
    ),
    Group("wider or longer", lambda quick: queue.wider_or_longer(seeds(quick)), rows.wider_rows),
    Group("dispersion", lambda quick: queue.dispersion(seeds(quick)), rows.dispersion_rows),
    Group(
        "exchanged",
        lambda quick: queue.exchanged(seeds(quick, few=20, many=20)),
        rows.exchanged_rows,
    ),
    Group(
        "half closed",
        lambda quick: queue.half_closed(WALKERS, range(1, 3 if quick else 5)),
        rows.half_closed_rows,
    ),
    Group(
        "own times", lambda quick: queue.own_times_s(RUNNERS, rows.DELAYS_S), rows.own_times_rows
    ),
    Group(
        "even start",
        lambda quick: [flow.evenness(flow.line_left_s(RUNNERS, alone=a)) for a in (False, True)],
        rows.even_start_rows,
    ),
    Group("open data", lambda quick: ten_mile_start(), rows.open_data_rows),
)


def group(name: str) -> Group:
    """The experiment of this name. Raises KeyError."""
    return {each.name: each for each in GROUPS}[name]
