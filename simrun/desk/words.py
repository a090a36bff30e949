"""What the desk says, where the page's own words do not say it."""

from __future__ import annotations

CHANGED_ELSEWHERE = (
    "This file was changed elsewhere. The page now shows it as it stands; do your last step again."
)
NO_SUCH_DAY = "There is no file of that name in this folder."
NOT_A_NAME = (
    "A file name begins with a letter or a digit and ends in .toml; spaces, - and _ are fine."
)
NAME_TAKEN = "There is a file of that name already; nothing is overwritten."
TOO_LARGE = "That is too large: at most {most} MB."
NOT_READ = "That could not be read as JSON."
BUSY = "The desk is running races already. Stop them first, or wait for them."
UNEXPECTED = "Something went wrong on our side; the file was left as it was."
NOTHING_TO_UNDO = "There is nothing more to undo."
NOTHING_TO_REDO = "There is nothing to do again."
FEW_POINTS = "Click at least three points of the way."
STOPPED = "Stopped. The races that were run are kept; run again and it goes on."

DRAWN_HEAD = "# Drawn at the desk. Widths and rounded corners are as typed and assumed there: measure them.\n"
NOT_SAID = "Drawn at the desk."


def open_words(address: str) -> str:
    """Where the desk is open, and how it is closed."""
    return f"The desk is open at {address}  (this machine only; Ctrl-C closes it)"


def crew_title(name: str) -> str:
    """What the crew's sheet is of."""
    return f"{name}: the start line for the crew"


def crew_sentence(width: str, boxes: int, box: str) -> str:
    """The line in one sentence."""
    line = f"A line of {width} with {boxes} boxes of {box}"
    return f"{line}: set the pegs first, then every stake by two tapes."
