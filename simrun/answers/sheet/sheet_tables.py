"""Every figure of a sheet as tables of plain numbers, metres and seconds."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

import numpy as np

from simrun.answers.sheet.sheet_records import Band, SheetFigures, Told
from simrun.measure.squad.where_to_be import COSTS_S
from simrun.measure.squad.with_whom import NEAR_M

if TYPE_CHECKING:
    import pandas


def tables_of(figures: SheetFigures) -> Mapping[str, pandas.DataFrame]:
    """sheet: a row a mark and runner; sheet_marks, sheet_box, sheet_company and sheet_seen."""
    import pandas as pd

    return {
        "sheet": pd.DataFrame(_times(figures)),
        "sheet_marks": pd.DataFrame(_marks(figures)),
        "sheet_box": pd.DataFrame(_box(figures)),
        "sheet_company": pd.DataFrame(_company(figures)),
        "sheet_seen": pd.DataFrame(_seen(figures), columns=SEEN),
    }


def _band(name: str, band: Band, unit: str = "") -> dict[str, float]:
    return {f"{name}_{key}{unit}": value for key, value in asdict(band).items()}


def _times(figures: SheetFigures) -> Iterator[dict[str, Any]]:
    for told in figures.marks:
        for who, time, place in zip(figures.stand.who, told.time_s, told.place, strict=False):
            yield {
                "mark": told.mark.name,
                "at_m": told.mark.at_m,
                "runner": who.name,
                **_band("time", time, "_s"),
                **_band("place", place),
                "races": figures.races,
                "assumed_drawn": len(figures.day.inputs.free) if figures.day.inputs.drawn else 0,
            }


def _marks(figures: SheetFigures) -> Iterator[dict[str, Any]]:
    for told in figures.marks:
        mark, free = told.mark, told.free_place or Band(np.nan, np.nan, np.nan)
        yield {
            "mark": mark.name,
            "off_m": mark.off_m,
            "at_m": mark.at_m,
            "plan": _stages(told, figures),
            "lines": "; ".join(f"{turn}: {word}" for turn, word, _ in told.lines),
            "narrow_ahead": told.piece.name if told.piece else "",
            "lap": told.piece.lap if told.piece else np.nan,
            **_band("free_place", free),
            "costs_s": COSTS_S if told.free_place else np.nan,
            "wished_made_share": told.passing.open_share if told.passing else np.nan,
            "word": told.passing.word if told.passing else "",
        }


def _stages(told: Told, figures: SheetFigures) -> str:
    names = [who.name for who in figures.stand.who]
    return "; ".join(
        f"{stage}: {', '.join(names[i] for i in who)}" for stage, who in told.mark.stages
    )


def _box(figures: SheetFigures) -> Iterator[dict[str, Any]]:
    stand = figures.stand
    for who in stand.who:
        yield {
            "runner": who.name,
            "box": np.nan if stand.box is None else stand.box,
            "row": who.row,
            "from_left": who.file + 1,
            "beside_left": stand.left,
            "beside_right": stand.right,
            "ahead": stand.ahead,
            "ahead_m": stand.ahead_m,
            "to_the_left_m": stand.aside_m,
        }


def _company(figures: SheetFigures) -> Iterator[dict[str, Any]]:
    names = [who.name for who in figures.stand.who]
    for stretch in figures.stretches:
        for near in stretch.near:
            look = near.look_for
            yield {
                "from": stretch.first.name,
                "from_m": stretch.first.at_m,
                "to": stretch.last.name,
                "to_m": stretch.last.at_m,
                "runner": names[near.runner],
                "nearest_of_ours": "" if near.mate is None else names[near.mate],
                "nearest_in_races": near.mate_races,
                **_band("apart", near.mate_m, "_m"),
                "ahead_m": near.mate_ahead_m,
                "near_m": NEAR_M,
                **_band("rivals", near.rivals),
                "rivals_near": "; ".join(near.rival_names),
                "alone_races": near.alone_races,
                "look_for": names[int(look[1:])] if look.startswith("#") else look,
                **_band("look", near.look_m, "_m"),
            }


SEEN = ("first", "second", "walk_m", "first_from_s", "first_to_s", "second_from_s", "second_to_s")


def _seen(figures: SheetFigures) -> Iterator[dict[str, Any]]:
    for seen in figures.seen:
        row = asdict(seen)
        yield row | {"first": seen.first.name, "second": seen.second.name}
