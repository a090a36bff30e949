"""The layouts as rows of text: side by side, mark by mark, one by one, and the stakes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from simrun.answers.layout.layout_found import Found
from simrun.answers.layout.layout_measures import (
    LayoutSample,
    drawn_share,
    mean_of,
    unfairness_s,
    worst_pair,
)
from simrun.answers.layout.varied import SETTINGS, ground_m, said
from simrun.answers.layout.words import (
    STAKE_WORDS,
    apart_words,
    peg_names,
    point_words,
    tape_text,
    turn_words,
)
from simrun.base.units import length_text
from simrun.measure.stakes import StakePlan
from simrun.pages.numbers import DASH, mean_and_ends, percent, tenths
from simrun.trials.statistics import Estimate

if TYPE_CHECKING:
    import pandas

Rows = list[list[str]]

SHORT = (
    "extra way of the farthest box, exact|spread between boxes, s|seconds lost, everybody|worst pair of boxes"
    "|decided by the draw|slowed|queueing, s a runner|highest density, people/m2"
)
FAIR = "spread between boxes s|lost s|worst pair|apart s|decided by the draw"
CROWD = "slowed|queueing s|highest density /m2|where|flow /s/m|strung out s"
MARKS = "at|spread between boxes s|worst pair|apart s|decided by the draw"
FRONT = "|layout|spread between boxes s|queueing s|ground to be added"
STAKES = "stake|left tape from|its length|right tape from|its length|along the line|box to its right faces"


def short_rows(found: Found, table: pandas.DataFrame, units: str) -> Rows:
    """The layout as it is and the chosen one, a row a measure."""
    here = table[table.checkpoint == found.at].to_dict("records")
    head, columns = ["measure"], []
    for number in dict.fromkeys((0, found.chosen_number())):
        fair, crowd = _fair_cells(here[number]), _crowd_cells(here[number], units)
        head.append(said(found.chosen()[0], units) if number else "as it is")
        exact = length_text(here[number]["extra_m_farthest_box"], units)
        columns.append([exact, *fair[:3], fair[4], *crowd[:3]])
    return [head, *(list(row) for row in zip(SHORT.split("|"), *columns, strict=True))]


def mark_rows(now: LayoutSample) -> Rows:
    """How fair the present layout is, checkpoint by checkpoint."""
    rows = [MARKS.split("|")]
    for name in now.checkpoints:
        spread, pair, share = unfairness_s(now, name), worst_pair(now, name), drawn_share(now, name)
        told = [name, _spread_text(spread), f"box {pair.most} against {pair.least}"]
        rows.append([*told, apart_words(pair.apart_s), _share_text(share)])
    return rows


def _spread_text(found: Estimate) -> str:
    """A spread with its interval; one race says nothing about it."""
    return mean_and_ends(found) if found.count > 1 else DASH


def _share_text(share: Estimate) -> str:
    if share.count < 2:
        return DASH
    return f"{percent(share.mean)} ({100 * share.low:.0f} to {100 * share.high:.0f})"


def layout_rows(found: Found, table: pandas.DataFrame, units: str) -> tuple[Rows, Rows]:
    """Two tables of all layouts, their settings first: what is fair, and how the crowd fares."""
    titles = [SETTINGS[name].title for name in found.ranges]
    fair, crowd = ([["", *titles, *head.split("|")]] for head in (FAIR, CROWD))
    for row in table[table.checkpoint == found.at].to_dict("records"):
        layout = ["as it is" if row["layout"] == 1 else str(int(row["layout"]) - 1)]
        layout += [_value_text(name, row, units) for name in found.ranges]
        fair.append([*layout, *_fair_cells(row)])
        crowd.append([*layout, *_crowd_cells(row, units)])
    return fair, crowd


def _value_text(name: str, row: dict[Any, Any], units: str) -> str:
    value = float(row.get(name, np.nan))
    return DASH if np.isnan(value) else SETTINGS[name].value_text(round(value, 2), units)


def interval_of(row: Mapping[Any, Any], name: str) -> Estimate:
    """A figure of the table with its interval again."""
    return Estimate(row[name], row[f"{name}_low"], row[f"{name}_high"], int(row["races"]), 1.0)


def _fair_cells(row: dict[Any, Any]) -> list[str]:
    spread, apart = (interval_of(row, name) for name in ("unfairness_s", "apart_s"))
    share = float(row["drawn_share"]) if row["races"] > 1 else np.nan
    return [
        _spread_text(spread),
        tenths(float(row["lost_s"])),
        f"{row['worst_box']} against {row['best_box']}",
        apart_words(apart) if apart.is_seen else "none seen",
        percent(share),
    ]


def _crowd_cells(row: dict[Any, Any], units: str) -> list[str]:
    density = (
        f"{row['crowd_density_per_m2']:.1f} (most {row.get('crowd_density_highest_per_m2', 0):.1f})"
    )
    flow = float(row["crowd_flow_per_s_m"])
    return [
        percent(float(row["crowd_slowed_share"])),
        tenths(float(row["crowd_queue_s"])),
        density,
        _where_text(row, units),
        DASH if np.isnan(flow) else f"{flow:.2f}",
        _strung_text(row),
    ]


def _where_text(row: dict[Any, Any], units: str) -> str:
    """Where the densest square of all races was."""
    ahead = float(row.get("crowd_density_x_m", np.nan))
    if np.isnan(ahead):
        return DASH
    across = float(row["crowd_density_y_m"])
    side = "left" if across > 0 else "right"
    return f"{length_text(ahead, units)} ahead, {length_text(abs(across), units)} {side}"


def _strung_text(row: dict[Any, Any]) -> str:
    late, races = row["crowd_still_crowded_races"], row["races"]
    if late == races:
        return "not by the end"
    told = f"{row['crowd_strung_out_s']:.0f}"
    return f"{told} (not by the end in {late} of {races} races)" if late else told


def front_rows(found: Found, units: str) -> Rows:
    """The layouts of a search that nothing beats, with fresh races."""
    rows = [FRONT.split("|")]
    front = found.searched.front if found.searched else []
    for i, (values, sample) in enumerate(front, start=1):
        spread = unfairness_s(sample, found.at)
        ground = length_text(ground_m(found.scenario, values), units)
        queue = tenths(mean_of(sample, "queue_s"))
        rows.append([str(i), said(values, units), _spread_text(spread), queue, ground])
    return rows


def stake_rows(plan: StakePlan, units: str) -> Rows:
    """What to paint: every stake by its two tapes."""
    rows = [STAKES.split("|")]
    names = peg_names(len(plan.pegs_m))
    tapes = zip(plan.left_peg, plan.from_left_m, plan.from_right_m, plan.along_m, strict=True)
    for i, (peg, left, right, along) in enumerate(tapes):
        turn = plan.box_turn_deg[i] if i < len(plan.box_turn_deg) else None
        faces = "" if turn is None else turn_words(float(turn))
        left_text, right_text, along_text = (tape_text(m, units) for m in (left, right, along))
        tapes_text = [names[peg], left_text, names[peg + 1], right_text, along_text]
        rows.append([str(i + 1), *tapes_text, faces])
    return rows


def point_rows(plan: StakePlan, units: str) -> Rows:
    """What has to stand before the first stake."""
    return [["point", "where it stands"], *([*told] for told in point_words(plan, units).items())]


def stake_table(plan: StakePlan) -> pandas.DataFrame:
    """stakes.csv: the points to set first and every stake, in words, metres and degrees."""
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
            "box_turn_left_deg": np.concatenate([none, plan.box_turn_deg, [np.nan]]),
        }
    )
