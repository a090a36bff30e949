"""What several kinds may be asked: a scenario, how many races, how they are run; and how a text is read."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

from simrun.answers.kind import Asked, Kind, Option
from simrun.scenario.tables.lengths import LENGTH_WORDS, length_m
from simrun.scenario.tables.values import LONGEST_NAME, RefusedError

if TYPE_CHECKING:
    from simrun.scenario.scenario import Scenario

MOST_COUNTED = 100_000


def whole_number(text: str) -> int:
    """A whole number from 0, or one line of what is wrong."""
    if not text.isdecimal() or len(text) > 18:
        raise ValueError(f"{text!r}; a whole number from 0 is needed")
    return int(text)


def count_of(text: str) -> int:
    """How many, at least one."""
    count = whole_number(text)
    if not 1 <= count <= MOST_COUNTED:
        raise ValueError(f"{text!r}; a whole number from 1 to {MOST_COUNTED} is needed")
    return count


def at_least(fewest: int) -> type:
    """Reads a count that an interval can be made of."""

    def read(text: str) -> int:
        count = count_of(text)
        if count < fewest:
            raise ValueError(f"{text!r}; at least {fewest} are needed")
        return count

    return read  # type: ignore[return-value]


def number_of(text: str) -> float:
    """A plain number, finite."""
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not abs(value) < 1e12:
        raise ValueError(f"{text[:40]!r}; a number is needed")
    return value


def minutes_of(text: str) -> float:
    """So many minutes, from a hundredth to a day, or one line of what is wrong."""
    value = number_of(text)
    if not 0.01 <= value <= 1440:
        raise ValueError(f"{text[:40]!r}; minutes from 0.01 to 1440 are needed")
    return value


def length_of(text: str) -> float:
    """Metres, or a text such as "150 yd", or one line of what is wrong."""
    try:
        metres = length_m(float(text) if text.replace(".", "", 1).isdecimal() else text)
    except RefusedError:
        metres = -1.0
    if metres < 0:
        raise ValueError(f"{text[:40]!r}; {LENGTH_WORDS}")
    return metres


def size_of(text: str) -> tuple[int, int]:
    """Width and height in pixels: "1080x1920"."""
    wide, sign, high = text.lower().partition("x")
    if not (sign and wide.isdecimal() and high.isdecimal() and len(text) < 12):
        raise ValueError(f"{text[:40]!r}; width x height in pixels is needed, such as 1920x1080")
    return int(wide), int(high)


def name_of(text: str) -> str:
    """A name, or one line of what is wrong."""
    if not text.strip() or len(text) > LONGEST_NAME or not text.isprintable():
        raise ValueError(f"{text[:40]!r}; 1 to {LONGEST_NAME} letters on one line are needed")
    return text.strip()


SCENARIO = Option("file", "the scenario, a .toml file", is_day=True)

ONE_RACE = Option(
    "--race",
    "which race of several of the day, or of its entry list (default: the one under [field], else the first "
    "that our team runs in)",
    name_of,
    shown="NAME",
)
"""What may be asked of every race day; a kind that takes several races at once has RACES."""


def options_of(kind: Kind) -> tuple[Option, ...]:
    """What may be asked of a kind: its own, one race of a day, how it is raced, and the common ones."""
    own = {option.name for option in kind.options}
    one = any(option.is_day for option in kind.options) and ONE_RACE.name not in own
    behaviour = (BEHAVIOUR,) if kind.races_days else ()
    return (*kind.options, *((ONE_RACE,) if one else ()), *behaviour, *COMMON)


def day_of(asked: Asked, file: str | None = None) -> Scenario:
    """The race day that is asked about: the file's, or that of the race that is named. Raises BadInput."""
    from simrun.scenario.reader import read_one  # not for those who ask for help only

    return read_one(file or asked.file, asked.race or "")


def seeds(count: int, words: str = "how many races") -> Option:
    """How many races are run?"""
    return Option("--seeds", f"{words} (default {count})", count_of, count, "N")


def until(default_m: float | None) -> Option:
    """Where do the races end?"""
    known = "" if default_m is None else f" (default {default_m:.0f} m)"
    words = f"stop at the last mark before this distance{known}"
    return Option("--until", words, length_of, default_m, "M")


DRAWN, FIXED = "drawn", "fixed"

INPUTS = Option(
    "--inputs",
    "what nobody has measured: drawn anew for every two races (default), or fixed at its middle value",
    default=DRAWN,
    choices=(DRAWN, FIXED),
)

WORKERS = (
    Option(
        "--workers",
        "so many processes (default: threads of this one, one a core)",
        count_of,
        None,
        "N",
    ),
    Option("--cluster", "a distributed scheduler instead", str, None, "ADDRESS"),
    Option(
        "--engine",
        "cpu or gpu (default: gpu where there is a card and the study has 50 races or more)",
        choices=("cpu", "gpu"),
    ),
)

RACES = Option(
    "--race",
    "one race of several of the day, or of its entry list; again for another (default: all of the day)",
    name_of,
    shown="NAME",
    many=True,
)

PAPERS = (
    Option("--entries", "an entry list (CSV): name, team, 5 km time", Path, None, "FILE"),
    Option("--box-sheet", "a box sheet (CSV): box, team", Path, None, "FILE"),
    Option("--race", "which race of the entry list", str, "", "NAME"),
    Option(
        "--plain-times",
        "is 1620 in the entry list 16:20 or seconds",
        choices=("minutes", "seconds"),
    ),
    Option("--team", "which team is ours", str, "", "NAME"),
)

COMMON = (
    Option("--out", "where to write (default: a folder under outputs/)", Path, None, "FOLDER"),
    Option("--units", "the units of the page", choices=("metric", "us")),
    Option("--json", "figures only, as JSON", switch=True),
    Option("--quiet", "the sentence and nothing else", switch=True),
)

BEHAVIOUR = Option(
    "--behaviour",
    "race by a tactic of one's own: a behaviour, or a function, of a Python module",
    name_of,
    None,
    "MODULE:NAME",
)

PICTURE = (
    Option("--follow", "a team or a runner (default: our team)", str, None, "NAME"),
    Option("--from", "first second shown", number_of, None, "S"),
    Option("--to", "last second shown", number_of, None, "S"),
    Option(
        "--speed", "2 = twice as fast (default: slow where seconds are lost)", number_of, None, "X"
    ),
    Option("--length", "so many seconds long, without --speed (default 25)", number_of, 25.0, "S"),
    Option(
        "--size", "pixels, such as 1920x1080, or 1080x1920 for a phone", size_of, (800, 450), "WxH"
    ),
    Option("--inset", "the turn or throat shown small (default: the first turn)", group="inset"),
    Option("--no-inset", "no small picture", switch=True, group="inset"),
    Option("--no-pauses", "never wait at the moments that decide", switch=True),
)


def folder_of(asked: Asked) -> Path:
    """Where are the files of this answer written? Of the one race that is named in a folder of its own."""
    return asked.out or Path("outputs").joinpath(Path(asked.file).stem, *race_folder(asked.race))


def race_folder(race: str | list[str] | None) -> tuple[str, ...]:
    """The folder of the one race that is named; none for several at once, which have theirs below."""
    return (folder_word(race),) if isinstance(race, str) and race else ()


def folder_word(*names: str) -> str:
    """A folder's name out of what something is called: "varsity_girls_ellerfold_b"."""
    return re.sub(r"\W+", "_", " ".join(names).casefold()).strip("_")


def drawn_of(asked: Asked) -> bool:
    """Are the inputs that nobody has measured drawn with the seed?"""
    return bool(asked.inputs == DRAWN)


def run_seeds(asked: Asked) -> tuple[int, ...]:
    """The seeds that are run: 1, 2, ... as many as were asked for."""
    return tuple(range(1, asked.seeds + 1))
