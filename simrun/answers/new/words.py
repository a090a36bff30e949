"""What is asked of a new race day, what is said of it, and what stands in its file."""

from __future__ import annotations

from simrun.base.units import length_text
from simrun.scenario.scenario import Scenario

ASKED = {
    "name": "What is the race called?",
    "units": "Metres or yards (metric or us)?",
    "start_width": "How wide is the start line?",
    "boxes": "How many boxes does it have?",
    "front_row": "How many runners stand side by side in a box?",
    "narrowing": "How far from the line has the start come down to the course?",
    "width": "How wide is the course from there on?",
    "length": "How long is the race?",
    "team": "What is our team called?",
    "box": "Which box is ours?",
}

HEAD = """# Made by simrun new. Behind the narrowing the course is one straight; its turns are yours to write,
# or simrun course makes one of a watch's track. All that may be written: simrun new --grammar.
"""


def sentence_of(day: Scenario, file: str) -> str:
    """What was written, and where."""
    start, boxes = day.start, day.start.boxes
    length = length_text(day.strip.length_m, day.units)
    return (
        f"{day.name} is in {file}: {boxes} boxes on a line of {length_text(start.width_m, day.units)}, "
        f"{length} to run."
    )


def next_of(file: str) -> str:
    """What to do with it."""
    return f"Look at it with simrun check {file}, then ask simrun boxes {file} what your box costs."
