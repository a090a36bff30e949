"""The handbook's table: what every box of every day cost, and how it is written and read.

Two files beside each other: `days.csv` (a row a day: its figures, whether it is fitted or judged by, races,
what the average box lost) and `boxes.csv.xz` (a row a day, mark and box). `about.json` says which engine,
version and date.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from simrun.base.errors import BadRecording
from simrun.base.writing import write_text
from simrun.state.engine_digest import engine_digest
from simrun.trials.handbook.sampled_day import MARKS, SampledDay

if TYPE_CHECKING:
    import pandas

    from simrun.trials.races import Outcome

Array = NDArray[np.float64]

DAYS, BOXES, ABOUT = "days.csv", "boxes.csv.xz", "about.json"
SINGLES = (10, 90)
"""Which percentiles of single runners are kept."""

DIGITS = {"_s": 2, "_places": 1, "_m": 3, "_deg": 3}
"""So many digits behind the point, by the end of a column's name: a box's mean is known no better."""


def average_lost_s(outcomes: Sequence[Outcome]) -> dict[str, float]:
    """What the average box lost, by mark: mean over the races, against the same runner from the best box."""
    found = {}
    for mark, name in enumerate(MARKS):
        lost = [o.crossing_s[:, mark] - o.best_s[:, mark] for o in outcomes]
        box = [o.box for o in outcomes]
        by_box = _by_box(lost, box, np.unique(np.concatenate(box)))
        found[f"lost_{name.replace(' ', '_')}_s"] = float(np.nanmean(np.nanmean(by_box, axis=1)))
    return found


def day_rows(day: int, outcomes: Sequence[Outcome]) -> list[dict[str, Any]]:
    """Every box of one day at every mark, against the average box of the same race.

    cost_s: mean over the races of the box's mean loss less the mean of all boxes; se_s: its standard error
    over the races. cost_places, se_places: the same in places against ability. front_s: the front row's mean
    less the box's, nan where there is one row. pNN_s: percentiles of single runners, against the average box.
    """
    rows = []
    boxes = np.unique(np.concatenate([o.box for o in outcomes]))
    for mark, name in enumerate(MARKS):
        lost = [o.crossing_s[:, mark] - o.best_s[:, mark] for o in outcomes]
        places = [
            np.where(np.isnan(seconds), np.nan, o.place[:, mark] - o.clear_place[:, mark])
            for o, seconds in zip(outcomes, lost, strict=True)
        ]
        box = [o.box for o in outcomes]
        front = [o.row == 1 for o in outcomes]
        seconds_by, places_by = _by_box(lost, box, boxes), _by_box(places, box, boxes)
        front_lost = [
            np.where(is_front, seconds, np.nan)
            for is_front, seconds in zip(front, lost, strict=True)
        ]
        front_by = _by_box(front_lost, box, boxes) - seconds_by
        average_s = np.nanmean(seconds_by, axis=1)
        against = seconds_by - average_s[:, None]
        here = np.concatenate(box)
        single_s = np.concatenate([s - a for s, a in zip(lost, average_s, strict=True)])
        two_rows = any((~is_front).any() for is_front in front)
        for at, number in enumerate(boxes):
            rows.append(
                {
                    "day": day,
                    "mark": name,
                    "box": int(number),
                    "cost_s": float(np.nanmean(against[:, at])),
                    "se_s": _standard_error(against[:, at]),
                    "cost_places": float(np.nanmean(places_by[:, at])),
                    "se_places": _standard_error(places_by[:, at]),
                    "front_s": float(np.nanmean(front_by[:, at])) if two_rows else np.nan,
                    **_percentiles(single_s[here == number]),
                }
            )
    return rows


def _by_box(values: Sequence[Array], box: Sequence[Any], boxes: NDArray[Any]) -> Array:
    """The mean of every box in every race, (S, B); nan where nobody arrived."""
    found = np.full((len(values), len(boxes)), np.nan)
    for race, (each, stood) in enumerate(zip(values, box, strict=True)):
        counted = ~np.isnan(each)
        at = np.searchsorted(boxes, stood[counted])
        count = np.bincount(at, minlength=len(boxes))
        total = np.bincount(at, weights=each[counted], minlength=len(boxes))
        found[race] = np.where(count > 0, total / np.maximum(count, 1), np.nan)
    return found


def _standard_error(values: Array) -> float:
    count = int((~np.isnan(values)).sum())
    return float(np.nanstd(values, ddof=1) / np.sqrt(count)) if count > 1 else float("nan")


def _percentiles(values: Array) -> dict[str, float]:
    found = np.nanpercentile(values, SINGLES)
    return {f"p{share:02d}_s": float(v) for share, v in zip(SINGLES, found, strict=True)}


def with_part(
    folder: Path, use: str, days: Sequence[dict[str, Any]], boxes: Sequence[dict[str, Any]]
) -> None:
    """Write the days of one use and their boxes in the place of those that were there."""
    import pandas as pd

    folder.mkdir(parents=True, exist_ok=True)
    ran, rows = pd.DataFrame(days), pd.DataFrame(boxes)
    if (folder / DAYS).is_file():
        other = read_days(folder)
        other = other[other.use != use]
        kept = read_boxes(folder)
        kept = kept[kept.day.isin(other.day)]
        ran = pd.concat([ran, other]).sort_values("day")
        rows = pd.concat([rows, kept]).sort_values("day", kind="stable")
    _rounded(ran).to_csv(folder / DAYS, index=False)
    packing: Any = {"method": "xz", "preset": 9}
    _rounded(rows).to_csv(folder / BOXES, index=False, compression=packing)


def _rounded(table: pandas.DataFrame) -> pandas.DataFrame:
    """As many digits as each column deserves; lengths, which say what a day was, have the most."""
    digits = {
        name: count
        for name in map(str, table.columns)
        for end, count in DIGITS.items()
        if name.endswith(end)
    }
    return table.round(digits)


def read_about(folder: Path) -> dict[str, Any]:
    """What the table is of; nothing where there is none yet."""
    path = folder / ABOUT
    return dict(json.loads(path.read_text("utf-8"))) if path.is_file() else {}


def write_about(folder: Path, about: dict[str, Any]) -> None:
    """Which engine, version, date, and how many races."""
    write_text(folder / ABOUT, json.dumps(about, indent=1) + "\n")


SAME = "same_as"


def check_alike(folder: Path, use: str, made_by: Mapping[str, str]) -> None:
    """Raises BadRecording where the other part of this table was made by another engine or state of it."""
    about = read_about(folder)
    others = set(about.get("races", {})) - {use}
    found = {key: about.get(key) for key in made_by}
    if others and found != dict(made_by):
        differs = ", ".join(f"{key} {value!r}" for key, value in found.items())
        raise BadRecording(
            f"{folder}: its other days were run otherwise ({differs}), and those of two engines are never "
            "mixed in one table; choose another folder"
        )


def same_engine(about: Mapping[str, Any]) -> bool:
    """Were these races run by the engine as it is, or by one that was seen to run the same (`checked`)?"""
    return engine_digest() in {about["engine"], *about.get(SAME, ())}


def read_days(folder: Path) -> pandas.DataFrame:
    """A row a day."""
    import pandas as pd

    return pd.read_csv(folder / DAYS)


def read_boxes(folder: Path) -> pandas.DataFrame:
    """A row a day, mark and box."""
    import pandas as pd

    return pd.read_csv(folder / BOXES)


def day_row(
    number: int, use: str, races: int, day: SampledDay, lost_s: Mapping[str, float]
) -> dict[str, Any]:
    """A day's figures as a row; use: "fit" or "judge"; lost_s: as of `average_lost_s`."""
    return {"day": number, "use": use, "races": races, **asdict(day), **lost_s}
