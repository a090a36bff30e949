"""What is said of a course that came from a track: on the terminal, and in the scenario to be completed."""

from __future__ import annotations

from collections.abc import Sequence

from simrun.base.units import length_text

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

FIELD = """
[field]
ability = "boys varsity 5 km"  # {mark}
fill = true

[[teams]]
name = "Our team"
box = 1
ours = true
"""


def sentence_of(name: str, length_m: float, units: str) -> str:
    """How long the course is, and what is missing."""
    length = length_text(length_m, units)
    return f"{name} is {length} long as drawn; its widths are yet to be measured."


def text_of(sentence: str, told: Sequence[str]) -> str:
    """The sentence, what was dropped, smoothed and assumed, and the question."""
    return "\n".join([sentence, *told, QUESTION])
