"""What the boxes cost, in words: the tables, how they are read, and what a terminal shows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from simrun.answers.boxes.cost_words import Told, at, sentence_of, stands_out
from simrun.answers.boxes.sample import OUR_TEAM, THE_BOX
from simrun.base.units import length_text
from simrun.pages.numbers import NOTHING_SEEN, ends, tenths, the_mark, whole, whole_ends
from simrun.pages.racing_words import racing_words
from simrun.pages.sure_words import short_inputs_words
from simrun.pages.text import paragraphs, table_text

if TYPE_CHECKING:
    import pandas

MEANS = {
    THE_BOX: "What a box costs, whoever stands in it: the boxes were drawn again for every race, so that "
    "every team stood in every box. Each runner chose a line at the first turn.",
    OUR_TEAM: "Our team was put into every box in turn and told every line in turn. The team that stood "
    "there took our box.",
}

READING = (
    "Every figure is against the average box: the boxes were drawn again for every race, and the same teams "
    "stood in all of them. A plus is seconds, places or team points lost. Places count against the place of "
    "one's own ability, so what one box loses another gains. Five score and two displace. Ranges hold 95 "
    "times in a hundred. A star: the difference holds up after every box has been looked at (Holm's "
    "correction)."
)

WAVES = (
    " The wait for a later wave's gun is no part of what a box costs; places and points of our team as drawn "
    "today are those of the whole race, with the wait."
)

PARTS_READING = (
    "Lost = box + line + traffic{racing}, measured against the same runner alone from the best box on the "
    "shortest line. The 10 to 90 % range is what eight runners out of ten met in a single race."
)


def parts_reading(told: Told) -> str:
    """How the parts of the loss are read, with racing among them where everybody races."""
    return PARTS_READING.format(racing=" + racing" if told.day.field.racing == "on" else "")


def reading_of(told: Told) -> str:
    """How the figures are read; with waves that a wait for the gun is no part of them."""
    return READING + (WAVES if told.day.start.waves > 1 else "")


def title_of(told: Told) -> str:
    """What the pictures show."""
    return f"{told.day.name}: against the average box, {len(told.samples[0].box)} races"


def map_words(told: Told) -> str:
    """What the colors of the map say."""
    return f"seconds by {the_mark(told.mark)}"


def text_of(told: Told) -> str:
    """The sentence, and the boxes in a short table."""
    head = f"Every box against the average box, {len(told.samples[0].box)} races"
    table = f"{head}\n{table_text(short_rows(told))}"
    notes = (racing_words(told.day), reading_of(told), short_inputs_words(told.day))
    return paragraphs(sentence_of(told), table, *notes)


def short_rows(told: Told) -> list[list[str]]:
    """A row a box, its head first: seconds and places by the first mark, then what the last mark says."""
    scored, longer = not told.at_last["cost_points"].isna().all(), told.last != told.mark
    head = ["box", f"s by {the_mark(told.mark)}", "range", "places", "range"]
    head += ["points", "range"] if scored else []
    head += [f"s by {the_mark(told.last)}", "range"] if longer and not scored else []
    rows = [[*head, "extra way"]]
    last = told.at_last.to_dict("records")
    for row, end in zip(told.at_mark.to_dict("records"), last, strict=True):
        cells = [str(row["box"]), *_cost_cells(row, "cost_s", tenths, ends)]
        cells += _cost_cells(row, "cost_places", whole, whole_ends)
        cells += _cost_cells(end, "cost_points", whole, whole_ends) if scored else []
        cells += _cost_cells(end, "cost_s", tenths, ends) if longer and not scored else []
        rows.append([*cells, length_text(row["extra_m_finish"], told.units)])
    return rows


def _cost_cells(row: dict[Any, Any], name: str, one: Any, both: Any) -> list[str]:
    """A cost with its sign, starred where it holds up, and its interval."""
    value = row[name]
    sign = "+" if value > 0 and one(value).strip("0.") else ""
    star = "*" if stands_out(row, name, one) else ""
    return [f"{sign}{one(value)}{star}", both(row[f"{name}_low"], row[f"{name}_high"])]


def box_rows(table: pandas.DataFrame) -> list[list[str]]:
    """A row a box, its head first: what was lost at one mark, and to what; racing where anybody raced."""
    parts = ["box", "line", "traffic", *(["racing"] if table["racing_s_mean"].any() else [])]
    head = ["box", "races", "lost s", "95 % range", "10 to 90 %", *(f"{part} s" for part in parts)]
    rows = [[*head, "places", "10 to 90 % places", "against the average box"]]
    for row in table.to_dict("records"):
        rows.append(
            [
                str(row["box"]),
                str(row["seeds"]),
                tenths(row["lost_s_mean"]),
                ends(row["lost_s_low"], row["lost_s_high"]),
                ends(row["lost_s_p10"], row["lost_s_p90"]),
                *(tenths(row[f"{part}_s_mean"], "+") for part in parts),
                whole(row["places_lost_mean"]),
                whole_ends(row["places_lost_p10"], row["places_lost_p90"]),
                against_words(row),
            ]
        )
    return rows


def against_words(row: dict[Any, Any]) -> str:
    """A box against the average box in seconds, or that nothing holds up after every box was looked at."""
    if not stands_out(row, "cost_s", tenths):
        return NOTHING_SEEN
    return f"{tenths(row['cost_s'], '+')} s ({ends(row['cost_s_low'], row['cost_s_high'])})"


def line_rows(table: pandas.DataFrame, checkpoint: str, lines: Sequence[str]) -> list[list[str]]:
    """A row a box: the mean loss with its interval for every line."""
    found = {line: at(table, checkpoint, line).set_index("box") for line in lines}
    rows = [["box", *lines]]
    for box in at(table, checkpoint)["box"]:
        each = [found[line].loc[box] for line in lines]
        cells = [f"{tenths(r.lost_s_mean)} ({ends(r.lost_s_low, r.lost_s_high)})" for r in each]
        rows.append([str(box), *cells])
    return rows
