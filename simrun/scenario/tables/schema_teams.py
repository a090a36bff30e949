"""What may be written about the field and its teams? One class a table of the file."""

from __future__ import annotations

from typing import Annotated, Literal, cast, get_args

from pydantic import BeforeValidator, Field

from simrun.runners.seed_time import PlainTimes
from simrun.runners.seed_times import NoTime, NoTimeWord, Reading
from simrun.scenario.tables.lengths import Length, Time, length_m
from simrun.scenario.tables.schema import (
    MOST_BOXES,
    FileName,
    Flag,
    ListColumns,
    Name,
    Table,
)
from simrun.scenario.tables.values import (
    Many,
    Number,
    OneOf,
    RefusedError,
    Text,
    Whole,
    same_name,
    shown,
)

MOST_RUNNERS = 12
MOST_ENTRIES = 3000
MOST_RACES = 20

CROSS_COUNTRY, TRACK = "cross-country", "track"

Ability = Literal["boys varsity 5 km", "girls varsity 5 km", "even", "normal"]
Body = Literal["men", "women"]
LineWord = Literal["inside", "middle", "outside"]
Switch = Literal["on", "off"]
StartWord = Literal["usual", "quick", "wild"]

SIDES = ("left", "right")
"""Where a narrowing may be passed, beside its middle."""

OWN = "own"
"""At a checkpoint: up to here everybody keeps their own place across the course."""

PARTS_OF_A_TURN = 3
ToldLine = str | float | tuple[str | float, str | float, str | float]

Seconds5Km = Annotated[float, BeforeValidator(Time(600, 3600))]
Opening = Annotated[float, BeforeValidator(Number(0, 0.4))]
Share = Annotated[float, BeforeValidator(Number(0, 1))]
Runners = Annotated[int, BeforeValidator(Whole(1, MOST_RUNNERS))]
LineChoice = Annotated[LineWord, BeforeValidator(OneOf(get_args(LineWord)))]


def told_line(value: object) -> ToldLine:
    """A line at a turn, or at its entry, apex and exit; a side at a narrowing; own at a checkpoint."""
    if isinstance(value, list):
        if len(value) != PARTS_OF_A_TURN:
            allowed = 'three lines: entry, apex and exit, such as ["outside", "inside", "inside"]'
            raise RefusedError(f"a list of {len(value)}", allowed)
        entry, apex, leave = (line_or_offset(part) for part in value)
        return entry, apex, leave
    return value if isinstance(value, str) and value in (*SIDES, OWN) else line_or_offset(value)


def line_or_offset(value: object) -> str | float:
    """inside, middle, outside, or how many metres off the inside edge."""
    if isinstance(value, str) and value in get_args(LineWord):
        return value
    try:
        offset = length_m(value)
    except RefusedError:
        offset = -1.0
    if not 0 <= offset <= 300:
        raise RefusedError(shown(value), "inside, middle, outside, or metres off the inside edge")
    return offset


def places_wanted(value: object) -> tuple[int, int]:
    """The best and the worst place that is wanted."""
    wrong = RefusedError(shown(value), "two places, the better one first, such as [20, 40]")
    if not isinstance(value, list) or len(value) != 2:
        raise wrong
    try:
        first, last = (Whole(1, MOST_ENTRIES)(end) for end in value)
    except RefusedError as end:
        raise RefusedError(f"{end.found} in the list", wrong.allowed) from None
    if first > last:
        raise RefusedError(f"{first} before {last}", wrong.allowed)
    return first, last


def pull_range(value: object) -> tuple[float, float]:
    """A low and a high number from 0 to 1."""
    wrong = RefusedError(shown(value), "a low and a high number from 0 to 1, such as [0.3, 1.0]")
    if not isinstance(value, list) or len(value) != 2:
        raise wrong
    try:
        low, high = (Number(0, 1)(end) for end in value)
    except RefusedError as end:
        raise RefusedError(f"{end.found} in the list", wrong.allowed) from None
    if low > high:
        raise RefusedError(f"{low:g} before {high:g}", wrong.allowed)
    return low, high


class SharesTable(Table):
    """Which share of the field takes which line at a turn?"""

    inside: Share = 0.0
    middle: Share = 0.0
    outside: Share = 0.0

    @property
    def total(self) -> float:
        """What do the three shares add up to?"""
        return self.inside + self.middle + self.outside

    @property
    def scaled(self) -> dict[str, float]:
        """The three shares, so that they add up to one whole."""
        shares = {"inside": self.inside, "middle": self.middle, "outside": self.outside}
        return {line: share / self.total for line, share in shares.items()}


Begins = Annotated[float | None, BeforeValidator(Length(1, 60000))]


class PlanTable(Table):
    """Where along the measured line does each stage of the race begin? What is not written is left out."""

    settle_m: Begins = Field(None, alias="settle")
    sit_m: Begins = Field(None, alias="sit")
    move_m: Begins = Field(None, alias="move")
    kick_m: Begins = Field(None, alias="kick")
    in_hand_m: Annotated[float | None, BeforeValidator(Length(-60, 150))] = Field(
        None, alias="in_hand"
    )
    places: Annotated[tuple[int, int] | None, BeforeValidator(places_wanted)] = None


def races_wanted(value: object) -> tuple[str, ...]:
    """The name of a race, or a list of names."""
    names = value if isinstance(value, list) else [value]
    if not 1 <= len(names) <= MOST_RACES:
        allowed = f"the name of a race, or a list of up to {MOST_RACES}"
        raise RefusedError(f"a list of {len(names)}", allowed)
    return tuple(Text()(name) for name in names)


def without_time(value: object) -> NoTime:
    """The middle time of their team, nobody, or a 5 km time."""
    for words in get_args(NoTimeWord):
        if value == words:
            return cast(NoTimeWord, words)
    try:
        return Time(600, 3600)(value)
    except RefusedError as wrong:
        raise RefusedError(wrong.found, 'team, leave out, or a 5 km time such as "21:30"') from None


def bodies_wanted(value: object) -> dict[str, object]:
    """Races of the entry list with whose bodies they are."""
    allowed = '{ "JV girls" = "women", "JV boys" = "men" }: races of the entry list and whose bodies they are'
    if not isinstance(value, dict) or not value:
        raise RefusedError(shown(value), allowed)
    for race, body in value.items():
        if body not in get_args(Body):
            raise RefusedError(f"{shown(body)} for {shown(race)}", allowed)
    return value


class FieldTable(Table):
    """Everybody in the race, as far as a team or a person does not say otherwise.

    bodies: races of the entry list that run as one, each with bodies and squads of its own.

    race, columns, no_time and plain_times settle what an entry list leaves open: which of its races,
    which column
    is which, what runs who has no time, and whether 1620 is 16:20 ("minutes") or seconds.
    """

    written_ability: Annotated[Ability | None, BeforeValidator(OneOf(get_args(Ability)))] = Field(
        None, alias="ability"
    )
    time_s: Seconds5Km | None = Field(None, alias="time")
    spread_s: Annotated[float | None, BeforeValidator(Time(0, 600))] = Field(None, alias="spread")
    seed_times: FileName | None = None
    race: Annotated[tuple[str, ...], BeforeValidator(races_wanted)] = ()
    columns: ListColumns = ListColumns.model_validate({})
    no_time: Annotated[NoTime, BeforeValidator(without_time)] = "team"
    plain_times: Annotated[PlainTimes | None, BeforeValidator(OneOf(get_args(PlainTimes)))] = None
    written_body: Annotated[Body | None, BeforeValidator(OneOf(get_args(Body)))] = Field(
        None, alias="body"
    )
    bodies: Annotated[dict[str, Body], BeforeValidator(bodies_wanted)] = {}  # noqa: RUF012
    teams: Annotated[int | None, BeforeValidator(Whole(1, MOST_BOXES))] = None
    fill: Flag = False
    racing: Annotated[Switch, BeforeValidator(OneOf(get_args(Switch)))] = "off"
    start: Annotated[StartWord, BeforeValidator(OneOf(get_args(StartWord)))] = "usual"
    seed_on: Annotated[str, BeforeValidator(Text())] = CROSS_COUNTRY
    seed_factor: Annotated[float | None, BeforeValidator(Number(0.7, 1.1))] = None
    written_runners: Runners | None = Field(None, alias="runners")
    opening: Opening = 0.10
    opening_spread: Annotated[float, BeforeValidator(Number(0, 0.3))] = 0.03
    opening_for_m: Annotated[float, BeforeValidator(Length(0, 5000))] = Field(
        200.0, alias="opening_for"
    )
    settle_over_m: Annotated[float, BeforeValidator(Length(0, 5000))] = Field(
        200.0, alias="settle_over"
    )
    plan: PlanTable = PlanTable.model_validate({})
    lines: SharesTable = SharesTable(inside=0.6, middle=0.2, outside=0.2)
    pull: Annotated[tuple[float, float], BeforeValidator(pull_range)] = (0.3, 1.0)

    @property
    def list_reading(self) -> Reading:
        """What is settled where the entry list leaves it open."""
        told = self.columns.chosen, self.race, self.no_time, self.plain_times
        return Reading(*told, tuple(self.bodies))

    def body_of(self, team: str) -> Body | None:
        """Whose bodies has a squad of one of the races of `bodies`? None: as everybody else."""
        ends = ((f" {same_name(race)}", body) for race, body in self.bodies.items())
        return next((body for end, body in ends if same_name(team).endswith(end)), None)

    @property
    def ability(self) -> Ability | None:
        """How fast is the field? None: the entry list says so."""
        return None if self.seed_times else self.written_ability or "boys varsity 5 km"

    def seed_share(self, usual: float) -> float:
        """Which share of the level pace did the ground leave on which the seed times were run?

        usual: that of this course on a usual day. "track": 1; "cross-country": a course like this one; else
        the named course's own factor.
        """
        return {CROSS_COUNTRY: usual, TRACK: 1.0}.get(self.seed_on, self.seed_factor or 1.0)

    @property
    def told_opening(self) -> float | None:
        """The opening of the field, where one is written."""
        return self.opening if "opening" in self.model_fields_set else None

    @property
    def body(self) -> Body:
        """Whose bodies are they? As written, else as the ability says, else men."""
        by_ability: Body = "women" if self.ability == "girls varsity 5 km" else "men"
        return self.written_body or by_ability

    @property
    def runners(self) -> int:
        """How many run for a team that does not say so itself?"""
        return self.written_runners or 7


class PersonTable(Table):
    """One named runner."""

    name: Name = Field(description="the runner's name")
    time_s: Seconds5Km | None = Field(None, alias="time")
    opening: Opening | None = None
    line: LineChoice | None = None
    row: Annotated[int | None, BeforeValidator(Whole(1, MOST_RUNNERS))] = None
    plan: PlanTable | None = None


class TeamTable(Table):
    """One team and what it means to do."""

    name: Name = Field(description="the team's name")
    box: Annotated[int | None, BeforeValidator(Whole(1, MOST_BOXES))] = None
    ours: Flag = False
    runners: Runners | None = None
    opening: Opening | None = None
    line: LineChoice | None = None
    lines: dict[str, Annotated[ToldLine, BeforeValidator(told_line)]] = {}  # noqa: RUF012
    pull: Share | None = None
    plan: PlanTable | None = None
    start: Annotated[StartWord | None, BeforeValidator(OneOf(get_args(StartWord)))] = None
    front: Annotated[tuple[Name, ...], BeforeValidator(Many(MOST_RUNNERS, "people's names"))] = ()
    people: Annotated[tuple[PersonTable, ...], BeforeValidator(Many(MOST_RUNNERS, "people"))] = ()
