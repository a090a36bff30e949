"""A recorded race in words: which it is, whom the picture follows, what it tells."""

from __future__ import annotations

from simrun.base.units import clock_text
from simrun.pages.text import table_text
from simrun.pictures.film.pair import Told, plan_words
from simrun.pictures.story.moments import followed

Row = tuple[float, str, str, str, str]


def sentence_of(told: Told) -> str:
    """Which race is shown, and whom the picture follows; of two, in what their plans differ."""
    recording = told.recording
    race = f"{recording.scenario.name}, seed {recording.seed}, {len(recording.roster)} runners"
    whom = followed(recording, told.follow).label or "the pack"
    if told.beside is None:
        return f"{race}, following {whom}."
    one, other = plan_words(recording, told.beside)
    if one == other:
        return f"{race}, following {whom} in two races of one plan."
    return f"{race}, following {whom} in two races: {one}, and beside it {other}."


OTHER_ENGINE = (
    "Note: another version of the engine ran this recording; the same scenario and seed may give another "
    "race today."
)


def beat_rows(told: Told) -> list[Row]:
    """The second, the place, who is there, what to see, and what was lost since."""
    return [(beat.t_s, *beat.lines) for beat in told.telling.beats]


def text_of(told: Told) -> str:
    """The sentence, and what is told in the picture."""
    rows = [
        [clock_text(t_s), name, place, lost or see]
        for t_s, name, place, see, lost in beat_rows(told)
    ]
    if not rows:
        return sentence_of(told)
    table = table_text([["time", "at", "who", "lost"], *rows], left=4)
    return f"{sentence_of(told)}\n\n{table}"
