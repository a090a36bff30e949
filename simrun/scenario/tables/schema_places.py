"""What may a coach say of one place of the course, for the walk through it before the race?"""

from __future__ import annotations

from typing import Annotated, Literal, get_args

from pydantic import BeforeValidator, Field

from simrun.scenario.tables.lengths import LENGTH_WORDS, Length, Time
from simrun.scenario.tables.schema import FileName, Flag, Name, Table
from simrun.scenario.tables.values import Many, OneOf, RefusedError, Text, long_text

MOST_PLACES = 60
MOST_MINDED = 6
LONGEST_COURSE_M = 60_000.0
LONGEST_CLIP_S = 36_000.0

Beside = Literal["left", "right", "both"]
OneSide = Literal["left", "right"]
Facing = Literal["ahead", "back", "left", "right"]

PLACE_WORDS = f"the name of a place of the course, or {LENGTH_WORDS}"


def place_wanted(value: object) -> str | float:
    """A place by its name, such as "hedge gap" or "pump corner@2", or metres along the measured line."""
    if isinstance(value, str) and not value.strip()[:1].isdigit():
        return Text()(value)
    try:
        return Length(0.0, LONGEST_COURSE_M)(value)
    except RefusedError as wrong:
        raise RefusedError(wrong.found, PLACE_WORDS) from None


class PlaceTable(Table):
    """One place as the coach tells it. None of it changes the race.

    at: a named place, or metres along the measured line. name: what it is called here, else the place's own
    name. side: where what is seen stands. note: the coach's own sentences, instead of ours. coach: for the
    coach's eyes. photo, clip: files beside the scenario; clip_from_s, clip_to_s: the seconds that count.
    view: which way the picture looks. mind: what to look out for. barrier: the only side that has one.
    """

    at: Annotated[str | float, BeforeValidator(place_wanted)] = Field(description=PLACE_WORDS)
    name: Name | None = None
    side: Annotated[Beside | None, BeforeValidator(OneOf(get_args(Beside)))] = None
    see: Annotated[str, BeforeValidator(Text(longest=240))] = ""
    note: Annotated[str, BeforeValidator(Text(longest=400))] = ""
    coach: Annotated[str, BeforeValidator(long_text)] = ""
    photo: FileName | None = None
    clip: FileName | None = None
    clip_from_s: Annotated[float | None, BeforeValidator(Time(0, LONGEST_CLIP_S))] = Field(
        None, alias="clip_from"
    )
    clip_to_s: Annotated[float | None, BeforeValidator(Time(0, LONGEST_CLIP_S))] = Field(
        None, alias="clip_to"
    )
    view: Annotated[Facing | None, BeforeValidator(OneOf(get_args(Facing)))] = None
    mind: Annotated[
        tuple[Annotated[str, BeforeValidator(Text(longest=60))], ...],
        BeforeValidator(Many(MOST_MINDED, "short texts")),
    ] = ()
    crowd: Flag = False
    barrier: Annotated[OneSide | None, BeforeValidator(OneOf(get_args(OneSide)))] = None
