"""What may be written about the clock, the line and the ground? One class a table of the file."""

from __future__ import annotations

from typing import Annotated, Any, Literal, get_args

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from simrun.scenario.tables.lengths import Length, Time
from simrun.scenario.tables.values import (
    Many,
    Number,
    OneOf,
    RefusedError,
    Text,
    Whole,
    flag,
    long_text,
)

NARROWEST_M, WIDEST_M = 0.6, 300.0
MOST_TILT_DEG = 30.0
MOST_BOXES = 100
MOST_PIECES = 300
MOST_MARKS = 200
MOST_COLUMNS = 1000

Units = Literal["metric", "us"]
Shape = Literal["straight", "arc"]
Draw = Literal["list", "seed", "again"]
OursDrawn = Literal["as drawn", "again"]
Gun = Literal["left", "middle", "right"]
WavesBy = Literal["box", "seed time"]
LaneSide = Literal["left", "right"]
Edge = Literal["open", "marked", "barrier"]
PieceKind = Literal["straight", "narrowing", "turn", "gap", "trail", "again"]
PieceSide = Literal["left", "right", "both"]
Surface = Literal["grass", "dirt", "boardwalk", "mud", "sand", "road"]

Name = Annotated[str, BeforeValidator(Text())]
FileName = Annotated[str, BeforeValidator(Text(longest=200))]
Flag = Annotated[bool, BeforeValidator(flag)]
Width = Annotated[float, BeforeValidator(Length(NARROWEST_M, WIDEST_M))]
EdgeWord = Annotated[Edge, BeforeValidator(OneOf(get_args(Edge)))]


PIECES_MEANT = (
    *((word, "gap") for word in ("gate", "gateway", "opening")),
    *((word, "narrowing") for word in ("throat", "funnel", "chute")),
    *((word, "turn") for word in ("corner", "bend", "curve", "hairpin")),
    *((word, "trail") for word in ("path", "lane", "track")),
)
"""What a coach calls a piece of the course, and what it is called here: common usage, no source."""


class Table(BaseModel):
    """One table of a scenario file, frozen; an unknown key is a mistake."""

    model_config = ConfigDict(extra="forbid", frozen=True)


def column_wanted(value: object) -> str | int:
    """The name of a column, or its number from 1."""
    if isinstance(value, str):
        return Text()(value)
    try:
        return Whole(1, MOST_COLUMNS)(value)
    except RefusedError as wrong:
        raise RefusedError(wrong.found, "a column's name, or its number from 1") from None


AIM_M = Length(1, 5000)
AIM_WORDS = "a length, 1 to 5000 m, or where all ways are to be equal: a gate's name, or finish"


def aim_wanted(value: object) -> float | str:
    """How far ahead the point of an arc lies; or the name of a place, which begins with no figure."""
    try:
        if isinstance(value, str) and not value.strip().startswith(FIGURES):
            return Text()(value)
        return AIM_M(value)
    except RefusedError as wrong:
        raise RefusedError(wrong.found, AIM_WORDS, wrong.nearest) from None


FIGURES = tuple("0123456789+-.")

ColumnWanted = Annotated[str | int | None, BeforeValidator(column_wanted)]


class ListColumns(Table):
    """Which column of an entry list or a box sheet is which, where their names leave it open?"""

    name: ColumnWanted = None
    first: ColumnWanted = None
    last: ColumnWanted = None
    team: ColumnWanted = None
    time: ColumnWanted = None
    race: ColumnWanted = None
    box: ColumnWanted = None

    @property
    def chosen(self) -> dict[str, str | int]:
        """What is settled, by meaning."""
        return {key: getattr(self, key) for key in sorted(self.model_fields_set)}


class HeadTable(Table):
    """What stands above all tables."""

    name: Name = Field(description="the race's name")
    about: Annotated[str, BeforeValidator(long_text)] = ""
    invented: Flag = True
    units: Annotated[Units, BeforeValidator(OneOf(get_args(Units)))] = "metric"


class BehaviourTable(Table):
    """By which behaviour of one's own is raced? Never of a file: who starts a race hands it in.

    word: what it is called; found_at: its dotted name, empty where no other process can find it.
    """

    word: Name
    found_at: str = ""
    digest: Name


class ClockTable(Table):
    """For how long is the race run, in what steps, and how often is a frame kept?"""

    limit_s: Annotated[float, BeforeValidator(Time(1, 7200))] = Field(1200.0, alias="limit")
    step_s: Annotated[float, BeforeValidator(Number(0.01, 0.1))] = 0.05
    written_frame_s: Annotated[float | None, BeforeValidator(Number(0.01, 5))] = Field(
        None, alias="frame_s"
    )

    @property
    def frame_s(self) -> float:
        """Seconds between two frames: as written, else the multiple of the step nearest to 0.1."""
        return self.written_frame_s or self.step_s * max(1, round(0.1 / self.step_s))


class StartTable(Table):
    """The line: how wide, straight or on an arc, its boxes and the places in them.

    draw: "list": every team stands in the box that is written; "seed": who names none is drawn one by the
    seed; "again": every team is drawn again for every seed, whatever box is written. ours = "again": our team
    alone stands in another box with every seed, and who stands there takes ours. aim: of an arc, how far
    ahead its point lies, or the gate (or "finish") to which `course.equal_ways` solves point and tilt for the
    ground there is. tilt: degrees by which the whole line is turned to the left about its middle. sideways:
    how far that middle lies to the left of the middle of the ground at the start. recall,
    crossing: how far ahead of its middle the recall line and the spectators' crossing lie; ambulance: beside
    which end its lane is kept free. They are drawn for the crew and stand on no runner's way.
    """

    width_m: Width = Field(alias="width", description='the width of the line, such as "60 m"')
    written_shape: Annotated[Shape, BeforeValidator(OneOf(get_args(Shape)))] = Field(
        "straight", alias="shape"
    )
    aim: Annotated[float | str | None, BeforeValidator(aim_wanted)] = None
    tilt_deg: Annotated[float, BeforeValidator(Number(-MOST_TILT_DEG, MOST_TILT_DEG))] = Field(
        0.0, alias="tilt"
    )
    sideways_m: Annotated[float, BeforeValidator(Length(-WIDEST_M, WIDEST_M))] = Field(
        0.0, alias="sideways"
    )
    box_width_m: Annotated[float, BeforeValidator(Length(0.45, 50))] = Field(
        alias="box_width", description='the width of one box, such as "2.5 m"'
    )
    boxes: Annotated[int, BeforeValidator(Whole(1, MOST_BOXES))] = Field(
        description="how many boxes the line has"
    )
    front_row: Annotated[int, BeforeValidator(Whole(1, 12))] = Field(
        description="how many runners stand side by side in a box"
    )
    row_gap_m: Annotated[float, BeforeValidator(Length(0.6, 3))] = Field(1.0, alias="row_gap")
    empty: Annotated[
        tuple[Annotated[int, BeforeValidator(Whole(1, MOST_BOXES))], ...],
        BeforeValidator(Many(MOST_BOXES, "box numbers")),
    ] = ()
    box_sheet: FileName | None = None
    columns: ListColumns = ListColumns.model_validate({})
    draw: Annotated[Draw, BeforeValidator(OneOf(get_args(Draw)))] = "list"
    ours: Annotated[OursDrawn, BeforeValidator(OneOf(get_args(OursDrawn)))] = "as drawn"
    gun: Annotated[Gun, BeforeValidator(OneOf(get_args(Gun)))] = "middle"
    recall_m: Annotated[float | None, BeforeValidator(Length(1, 1000))] = Field(
        None, alias="recall"
    )
    crossing_m: Annotated[float | None, BeforeValidator(Length(1, 1000))] = Field(
        None, alias="crossing"
    )
    ambulance: Annotated[LaneSide | None, BeforeValidator(OneOf(get_args(LaneSide)))] = None
    waves: Annotated[int, BeforeValidator(Whole(1, 6))] = 1
    wave_gap_s: Annotated[float, BeforeValidator(Time(0, 1800))] = Field(0.0, alias="wave_gap")
    waves_by: Annotated[WavesBy, BeforeValidator(OneOf(get_args(WavesBy)))] = "box"

    @property
    def aim_m(self) -> float | None:
        """How far ahead of its middle does the point of an arc lie? None where that is not written."""
        return None if isinstance(self.aim, str) else self.aim

    @property
    def aim_at(self) -> str:
        """To which gate, or the finish, are the ways to be equal? Empty where no place is named."""
        return self.aim if isinstance(self.aim, str) else ""

    @property
    def shape(self) -> Shape:
        """How is the line painted? One that is aimed at a place is an arc."""
        return "arc" if self.aim_at else self.written_shape

    @property
    def open_boxes(self) -> tuple[int, ...]:
        """Which boxes may a team stand in, from left to right?"""
        return tuple(box for box in range(1, self.boxes + 1) if box not in self.empty)

    def wave_wait_s(self, box: NDArray[Any]) -> NDArray[np.float64]:
        """How long after the first gun does the wave of these boxes go? (N,)

        Waves take turns along the line: with two, odd boxes go first and even boxes after the gap. For waves
        by seed time see `Day.wave_wait_s`.
        """
        return np.asarray(((box - 1) % self.waves) * self.wave_gap_s, dtype=np.float64)


class PieceTable(Table):
    """One length of course; which keys belong to which kind is checked in ground_checks."""

    piece: Annotated[PieceKind, BeforeValidator(OneOf(get_args(PieceKind), PIECES_MEANT))] = Field(
        description="what it is: " + ", ".join(get_args(PieceKind))
    )
    name: Annotated[str, BeforeValidator(Text(forbidden="@"))] = ""
    length_m: Annotated[float | None, BeforeValidator(Length(0.1, 20000))] = Field(
        None, alias="length"
    )
    width_m: Width | None = Field(None, alias="width")
    side: Annotated[PieceSide | None, BeforeValidator(OneOf(get_args(PieceSide)))] = None
    angle_deg: Annotated[float | None, BeforeValidator(Number(5, 200))] = Field(None, alias="angle")
    inside_radius_m: Annotated[float | None, BeforeValidator(Length(0, 1000))] = Field(
        None, alias="inside_radius"
    )
    around: Annotated[str, BeforeValidator(Text())] = ""
    left: EdgeWord = "marked"
    right: EdgeWord = "marked"
    surface: Annotated[Surface, BeforeValidator(OneOf(get_args(Surface)))] = "grass"
    climb_m: Annotated[float, BeforeValidator(Length(-500, 500))] = Field(0.0, alias="climb")
    first: Annotated[str | None, BeforeValidator(Text())] = Field(None, alias="from")
    last: Annotated[str | None, BeforeValidator(Text())] = Field(None, alias="to")


class LapsTable(Table):
    """Which pieces are run more than once?"""

    first: Name = Field(alias="from", description="the name of the lap's first piece")
    last: Name = Field(alias="to", description="the name of the lap's last piece")
    times: Annotated[int, BeforeValidator(Whole(1, 30))] = Field(
        description="how often the lap is run"
    )


class MarkTable(Table):
    """A checkpoint or a landmark."""

    name: Name = Field(description="what it is called")
    at_m: Annotated[float, BeforeValidator(Length(0.1, 60000))] = Field(
        alias="at", description="how far along the measured line it is"
    )
    every_lap: Flag = False


class WidthTable(Table):
    """How wide a course drawn as its middle is at one place; even between two of them."""

    at_m: Annotated[float, BeforeValidator(Length(0, 60000))] = Field(
        alias="at", description="how far along the middle of the drawing it is"
    )
    width_m: Width = Field(alias="width", description="how wide the course is there")


class EdgesTable(Table):
    """What stands at the edges of a drawing where the drawing does not say?"""

    left: EdgeWord = "marked"
    right: EdgeWord = "marked"


class WindTable(Table):
    """The wind of the day: how fast, and against the runners of which stretch it blows."""

    speed_m_s: Annotated[float, BeforeValidator(Number(0, 15))] = Field(
        alias="speed", description="metres a second"
    )
    against: Name = Field(description="the stretch on which it blows straight against")


class CourseTable(Table):
    """The ground: a drawing, or pieces in order."""

    footing: Annotated[float, BeforeValidator(Number(0.8, 1.05))] = 1.0
    wind: WindTable | None = None

    drawn: FileName | None = None
    edges: EdgesTable | None = None
    width_m: Width | None = Field(None, alias="width")
    widths: Annotated[tuple[WidthTable, ...], BeforeValidator(Many(MOST_MARKS, "widths"))] = ()
    laps: LapsTable | None = None
    pieces: Annotated[tuple[PieceTable, ...], BeforeValidator(Many(MOST_PIECES, "pieces"))] = ()
    checkpoints: Annotated[
        tuple[MarkTable, ...], BeforeValidator(Many(MOST_MARKS, "checkpoints"))
    ] = ()
    landmarks: Annotated[tuple[MarkTable, ...], BeforeValidator(Many(MOST_MARKS, "landmarks"))] = ()
