"""How is it measured, with a phone, in ten minutes? One sheet a kind of sighting."""

from __future__ import annotations

from simrun.trials.learning.sightings import (
    ABREAST,
    GAP,
    RATE,
    SECTION,
    SPLITS,
    STARTS,
    THIRDS,
    Sighting,
)

SHEET = "How to measure it"
SHEET_SENTENCE = "Ten minutes with a phone: {}."
NOTHING_SENTENCE = (
    "These races cannot tell which measurement would narrow an answer; more of them may (--races)."
)
ENOUGH_SENTENCE = (
    "Ten more minutes with a phone are not worth it here: whatever else is measured narrows an answer by "
    "less than {}."
)

FILM = (
    "Stand the phone still, square to the course, with both edges in the picture, and film the whole "
    "field."
)

STEPS = {
    THIRDS: (
        "Before the race, mark the width at the tightest point of the turn in three equal parts: a cone, or "
        "a dab of paint, a third and two thirds of the way across.",
        FILM,
        "Play it back slowly. Count who passes in the inside third, the middle third and the outside third, "
        "by where their feet are. Ten or more in all; the whole field is best.",
        "Write three lines: inside, middle and outside.",
    ),
    RATE: (
        "Stand at the far end of the narrow place.",
        FILM,
        "Count everybody: say 80. Note the clock when a quarter of them has passed (the 20th) and when three "
        "quarters have (the 60th).",
        "Runners a minute: half of the count, times 60, divided by the seconds between. Write one line.",
    ),
    ABREAST: (
        "Lay a rope or paint a line across where the course is narrow.",
        FILM,
        "Step through the film where it is fullest. Count the most who cross the line within a quarter of a "
        "second: 8 pictures at 30 a second, 15 at 60.",
        "Do it three times, at the three fullest moments, and write three lines.",
    ),
    GAP: (
        "Paint a line across the course where runners follow one another in files.",
        FILM,
        "Step through the film. Pick a runner, then the next one over the line within two feet (0.6 m) to "
        "either side: the gap is the number of pictures between them, divided by pictures a second.",
        "Leave out gaps beyond 3 s. Take 15 pairs from all through the field, not only the tight ones, and "
        "write a line a pair.",
    ),
    SPLITS: (
        "Ask the timers for the split at this mark; or stand there and film with a clock in the picture.",
        "Put the times in a column of last year's results that is named as the mark is here.",
        "Ten times or more, from all through the field. Feed the list in with --results.",
    ),
    STARTS: (
        "Ask the timers for gun times and net times of the same runners.",
        "Save them as a list with the columns gun and net.",
        "Feed it in with --starts.",
    ),
}

COUNT_LINES = {
    THIRDS: ("inside,{},", "middle,{},", "outside,{},"),
    RATE: ("a minute,{},",),
    ABREAST: ("abreast,{},",) * 3,
    GAP: ("gap,{},",) * 15,
}


def what_words(sighting: Sighting) -> str:
    """A thing to be seen, inside a sentence."""
    place = " to ".join(place.replace(", apex", "") for place in sighting.place)
    return {
        SPLITS: f"the splits at {place}",
        SECTION: f"the times from {place}",
        STARTS: "gun and net times",
        RATE: f"the runners a minute at {place}",
        ABREAST: f"how many are abreast at {place}",
        GAP: f"the gaps between pairs at {place}",
        THIRDS: f"the thirds at {place}",
    }[sighting.kind]


def count_lines(sighting: Sighting) -> tuple[str, ...]:
    """The lines of the list to be filled in, without their numbers."""
    place = sighting.place[0].replace(", apex", "")
    lines = [line.format(place) for line in COUNT_LINES.get(sighting.kind, ())]
    return ("what,at,seen", *lines) if lines else ()
