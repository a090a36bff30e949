"""The tables of a brief, and all of it as a terminal shows it."""

from __future__ import annotations

import math

from simrun.answers.finish.words import Told as FinishTold
from simrun.answers.finish.words import team_rows
from simrun.answers.whole.brief.words import (
    Told,
    arm_words,
    differ_words,
    notes_of,
    runners_title,
    sentence_of,
)
from simrun.pages.numbers import ends, tenths, the_mark, whole, whole_clock, whole_ends
from simrun.pages.sure_words import short_inputs_words
from simrun.pages.text import paragraphs, table_text


def what_if_rows(told: Told) -> list[list[str]]:
    """A row an arm: seconds and places by the first mark, places and points at the finish; its head first."""
    by, at = f"by {the_mark(told.mark)}", f"at {the_mark(told.last)}"
    head = ["against the plan as written", f"s {by}", "range", f"places {at}", "range"]
    rows = [[*head, *(["points", "range"] if told.scored else [])]]
    for question, pairs in told.pairs.items():
        found = [pairs.found(told.mark)[0], pairs.found(told.last)[1]]
        row = [arm_words(told, question), tenths(found[0].mean, "+")]
        row += [ends(found[0].low, found[0].high), _signed(found[1].mean)]
        row += [whole_ends(found[1].low, found[1].high)]
        if told.scored:
            points = pairs.found_points
            row += [_signed(points.mean), whole_ends(points.low, points.high)]
        rows.append(row)
    return rows


def _signed(value: float) -> str:
    """A whole number with its sign; nothing is 0, a dash for nan."""
    sign = "+" if value > 0 and round(value) else ""
    return f"{sign}{whole(value)}"


def runner_rows(told: Told) -> list[list[str]]:
    """A row a runner of ours: seconds and places at every mark, eight races in ten; its head first."""
    table = told.tables["brief_ours"]
    marks = list(dict.fromkeys(table["checkpoint"]))
    rows = [["runner", *(cell for mark in marks for cell in (f"at {the_mark(mark)}", "place"))]]
    for name, some in table.groupby("runner", sort=False):
        row = [str(name)]
        for cells in some.to_dict("records"):
            row += [_times(cells["time_s_low"], cells["time_s_high"])]
            row += [whole_ends(cells["place_low"], cells["place_high"])]
        rows.append(row)
    return rows


def _times(low_s: float, high_s: float) -> str:
    """ "33 to 36 s", or as a clock past a minute."""
    if not math.isfinite(low_s):
        return ends(low_s, high_s)
    if high_s < 60:
        return f"{low_s:.0f} to {high_s:.0f} s"
    return f"{whole_clock(low_s)} to {whole_clock(high_s)}"


def teams_rows(told: Told) -> list[list[str]]:
    """The team scores."""
    return team_rows(FinishTold(told.day, told.races, {"finish_teams": told.tables["brief_teams"]}))


def text_of(told: Told) -> str:
    """The sentence and its tables, as a terminal shows them."""
    return paragraphs(
        sentence_of(told),
        "\n".join(differ_words(told)),
        f"What changes\n{table_text(what_if_rows(told))}",
        f"{runners_title(told)}\n{table_text(runner_rows(told))}",
        f"Team scores at the finish\n{table_text(teams_rows(told))}",
        *notes_of(told),
        short_inputs_words(told.day),
    )
