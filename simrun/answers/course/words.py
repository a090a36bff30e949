"""What is said of a course that came from a track: on the terminal, and in the scenario to be completed."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence

from simrun.answers.course.questions import BOX, BOXES, COURSE, LINE, NARROWED, ROW, WIDE
from simrun.base.units import length_text, short_unit
from simrun.course.walked.track_climb import LEAST_CLIMB_M, Profile
from simrun.course.walked.track_course import WatchCourse
from simrun.course.walked.track_pieces import HAIRPIN_DEG, Stretch

TURN_RAD = math.radians(30)
"""A turn is a bend by more than so much."""

QUESTION = (
    "A watch or a map cannot measure widths: they are assumed, and marked in the scenario. "
    "How wide are the start, the narrowings, the paths and the turns?"
)

TO_FILL_IN = "<-- assumed, measure it and fill it in"

HEAD = """# Read from {source}. To be completed: every line marked {mark!r}.
# A watch or a map cannot measure widths. Walk the course with a tape and ask: how wide is the start,
# where does it come down, how wide are the gates, the paths and the turns?
{told}
name = {name}
invented = false
units = "{units}"

[clock]
limit = "{minutes} min"

[start]
width = {width}  # {mark}
boxes = {boxes}  # {mark}
box_width = {box}  # {mark}
front_row = 2  # {mark}

[course]
drawn = {drawn}
"""

WIDTHS = """
# The width at this many metres from the start, along the middle; even between two of them.
# A start 60 m wide that comes down to 6 m between 200 and 250 m is three tables: 0, 200 and 250.
"""

WIDTH = """
[[course.widths]]
at = {at}
width = {width}  # {mark}
"""

WATCH_HEAD = """# Read from {source}. A watch cannot measure widths: every line marked {mark!r}
# and the width of every piece wait for an answer. Fill in the last column of {questions} and make this file
# anew with --answers, or write the widths here by hand.
"""

ANEW = (
    "# Made by simrun course, mark {mark}: made anew with answers while nobody changes it by hand."
)

NEXT = (
    "{count} questions with their places are in {file}: fill in its last column "
    "and give the same command again with --answers {file}"
)


def asked_of_start(
    assumed: Mapping[str, float], narrows: tuple[float, float], shown: Callable[[float], str]
) -> Iterator[tuple[str, str, str, bool]]:
    """What is asked of the start and of all the course: what, the question, what is assumed, is it a
    count?"""
    wide, narrowed = narrows
    yield LINE, "How wide is the start line?", shown(assumed[LINE]), False
    yield BOXES, "How many boxes does the line have?", str(int(assumed[BOXES])), True
    yield BOX, "How wide is one box?", shown(assumed[BOX]), False
    yield ROW, "How many runners stand side by side in a box?", str(int(assumed[ROW])), True
    yield WIDE, "How far from the line does it stay that wide?", shown(wide), False
    yield NARROWED, "How far from the line has it come down to the course?", shown(narrowed), False
    yield (
        COURSE,
        "How wide is the course where nothing else is said?",
        shown(assumed[COURSE]),
        False,
    )


def asked_of_stretch(stretch: Stretch) -> str:
    """Which stretch is asked about: by what it leads to."""
    degrees = abs(stretch.turn_deg)
    if not stretch.turn_deg:
        return "How wide is it on the way to the finish?"
    side = "left" if stretch.turn_deg > 0 else "right"
    if degrees > HAIRPIN_DEG:
        return f"How wide is it on the way to the hairpin to the {side}, and around it?"
    return f"How wide is it on the way to the {side} turn of {degrees:.0f} degrees, and around it?"


def of_watch(
    course: WatchCourse, profile: Profile, still: tuple[int, float], units: str
) -> Iterator[str]:
    """What was seen in the track: laps, turns, climb, and what was left out."""
    sharp = [bit.bend_rad for bit in course.bits if bit.is_turn and abs(bit.bend_rad) > TURN_RAD]
    turns = turns_words(sum(bend > 0 for bend in sharp), sum(bend < 0 for bend in sharp))
    if course.lap_at is None:
        yield f"{turns}; no lap."
    else:
        times = {1: "once, then part of it again", 2: "twice"}.get(
            course.laps, f"{course.laps} times"
        )
        yield f"{turns}; a lap of {length_text(course.lap_m, units)} is run {times}."
    unit, each = short_unit(units)
    climb, least = (
        f"{metres / each:.0f} {unit}" for metres in (profile.climb_m(course), LEAST_CLIMB_M)
    )
    yield f"{climb} of climb; ups and downs of less than {least} are put down to the watch."
    if still[1] >= 1:
        yield f"{still[1]:.0f} s of standing about are left out."


def turns_words(left: int, right: int) -> str:
    """How many turns there are, and to which side they go."""
    count = left + right
    if not count:
        return "No turns"
    if not left or not right:
        side = "left" if left else "right"
        return f"1 turn, to the {side}" if count == 1 else f"{count} turns, all to the {side}"
    return f"{count} turns, {left} to the left and {right} to the right"


def watched_sentence(name: str, lengths_m: tuple[float, float], units: str, is_open: bool) -> str:
    """How long the course is as it was run and as a wheel measures it, and whether something is missing."""
    run, measured = (length_text(metres, units) for metres in lengths_m)
    told = f"{name} is {run} long as it was run, {measured} by the shortest line"
    return f"{told}; its widths are yet to be measured." if is_open else f"{told}."


def sentence_of(name: str, length_m: float, units: str) -> str:
    """How long the course is, and what is missing."""
    length = length_text(length_m, units)
    return f"{name} is {length} long as drawn; its widths are yet to be measured."


def text_of(sentence: str, told: Sequence[str], after: str = QUESTION) -> str:
    """The sentence, what was dropped, smoothed and assumed, and what is to be done next."""
    return "\n".join([sentence, *told, *([after] if after else [])])


def next_of(file: str, count: int) -> str:
    """What to do next: answer the questions, and give them back."""
    return NEXT.format(file=file, count=count) if count else ""
