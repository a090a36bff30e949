"""The stakes as rows: what has to stand first, every stake by its two tapes, and stakes.csv."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from simrun.answers.layout.crew.crew_words import (
    STAKE_WORDS,
    across_of,
    beside_words,
    peg_names,
    point_words,
    tape_text,
    turn_words,
)
from simrun.course.start import in_line_m
from simrun.measure.stakes import StakePlan, first_narrow_edges_m
from simrun.scenario.scenario import Scenario

if TYPE_CHECKING:
    import pandas

Rows = list[list[str]]

TAPES = "stake|left tape|right tape"
STAKES = "stake|left tape from|its length|right tape from|its length"
STRING = ["along the string", "back from it"]
FACES = "box to its right faces"


def stake_rows(plan: StakePlan, units: str) -> Rows:
    """What to paint: every stake by its two tapes, and by the string between the end stakes."""
    by_string = string_rows(plan, units)
    rows = [[*STAKES.split("|"), *by_string[0], FACES]]
    names = peg_names(len(plan.pegs_m))
    tapes = zip(plan.left_peg, plan.from_left_m, plan.from_right_m, strict=True)
    for i, (peg, left, right) in enumerate(tapes):
        turn = plan.box_turn_deg[i] if i < len(plan.box_turn_deg) else None
        faces = "" if turn is None else turn_words(float(turn))
        tapes_text = [names[peg], tape_text(left, units), names[peg + 1], tape_text(right, units)]
        rows.append([str(i + 1), *tapes_text, *by_string[i + 1], faces])
    return rows


def string_rows(plan: StakePlan, units: str) -> Rows:
    """How far along the string, and back from it: of a straight line every stake stands on it."""
    columns = [plan.along_string_m, *([plan.behind_string_m] if plan.bow_m else [])]
    told = [[tape_text(metres, units) for metres in column] for column in columns]
    return [STRING[: len(columns)], *([*row] for row in zip(*told, strict=True))]


def tape_rows(plan: StakePlan, units: str) -> Rows:
    """The same in a few short columns, as the crew's sheet has room for."""
    head, *told = stake_rows(plan, units)
    rows = [[*TAPES.split("|"), *head[5:-1]]]
    for number, left, left_m, right, right_m, *by_string, _ in told:
        rows.append([number, f"{left} {left_m}", f"{right} {right_m}", *by_string])
    return rows


def point_rows(plan: StakePlan, units: str) -> Rows:
    """What has to stand before the first stake."""
    return [["point", "where it stands"], *([*told] for told in point_words(plan, units).items())]


def beside_rows(day: Scenario, units: str) -> Rows:
    """What else is painted, flagged or kept free."""
    return [["besides", "where"], *([*told] for told in beside_words(day, units).items())]


def stake_table(day: Scenario, plan: StakePlan) -> pandas.DataFrame:
    """stakes.csv: the points to set first, every stake, and what else the crew's sheet shows.

    In words, metres and degrees; a crew needs no other file. Check: tests/validation/test_stakes_laid_out.py.
    """
    import pandas as pd

    stakes = _stake_part(plan)
    beside = beside_words(day, "metric")
    places = _beside_m(day)
    more = pd.DataFrame(
        {
            "point": [*beside],
            "where_it_stands": [*beside.values()],
            "ahead_m": [places.get(name, UNKNOWN)[0] for name in beside],
            "left_of_middle_m": [places.get(name, UNKNOWN)[1] for name in beside],
            **dict.fromkeys(("left_peg", "right_peg"), ""),
        }
    )
    return pd.concat([stakes, more], ignore_index=True)


UNKNOWN = (float("nan"), float("nan"))


def _beside_m(day: Scenario) -> dict[str, tuple[float, float]]:
    """Metres ahead and to the left of what else is set; of a line across, where the way ahead meets it."""
    line = day.start_line
    (gun,) = in_line_m(line.spec, line.gun_m[None, :])
    found = {"gun": (float(gun[0]) + 0.0, float(gun[1]) + 0.0)}
    found |= {name: (away, 0.0) for name, away in across_of(day).items()}
    narrow = first_narrow_edges_m(day.strip, line.spec)
    if narrow is not None:
        for side, edge in zip(("left", "right"), narrow[1], strict=True):
            found[f"{narrow[0]}, {side} edge"] = (float(edge[0]), float(edge[1]))
    return found


def _stake_part(plan: StakePlan) -> pandas.DataFrame:
    import pandas as pd

    points, stakes = point_words(plan, "metric"), len(plan.stake_m)
    away = plan.pegs_m[0, 0] if plan.sighting is None else plan.sighting.away_m
    first = np.array([[0.0, 0.0], [away, 0.0], *plan.pegs_m])
    names, no_peg = peg_names(len(plan.pegs_m)), [""] * len(points)
    where = np.vstack([first, plan.stake_m]) + 0.0
    none = np.full(len(points), np.nan)
    return pd.DataFrame(
        {
            "point": [*points, *(f"stake {i + 1}" for i in range(stakes))],
            "where_it_stands": [*points.values(), *[STAKE_WORDS] * stakes],
            "ahead_m": where[:, 0],
            "left_of_middle_m": where[:, 1],
            "left_peg": no_peg + [names[peg] for peg in plan.left_peg],
            "from_left_peg_m": np.append(none, plan.from_left_m),
            "right_peg": no_peg + [names[peg + 1] for peg in plan.left_peg],
            "from_right_peg_m": np.append(none, plan.from_right_m),
            "along_m": np.append(none, plan.along_m),
            "along_string_m": np.append(none, plan.along_string_m),
            "behind_string_m": np.append(none, plan.behind_string_m),
            "box_turn_left_deg": np.concatenate([none, plan.box_turn_deg, [np.nan]]),
        }
    )
