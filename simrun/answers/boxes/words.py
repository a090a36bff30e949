"""What the boxes cost, in words: the sentence, the table for a terminal, and what stands on the page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from simrun.answers.boxes.cells import best_cell
from simrun.answers.boxes.sample import ANY_LINE, EVERY_TEAM, OUR_TEAM, Sample
from simrun.base.units import length_text
from simrun.pages.numbers import NOTHING_SEEN, difference, ends, tenths, the_mark, whole, whole_ends
from simrun.pages.racing_words import racing_words
from simrun.pages.text import table_text
from simrun.scenario.scenario import Scenario
from simrun.trials.statistics import Best, Estimate
from simrun.trials.stopping import Settled

if TYPE_CHECKING:
    import pandas

MEANS = {
    EVERY_TEAM: "Every team counts for the box it stands in, and each runner chooses a line at the first "
    "turn. Where teams are assigned to boxes and not drawn anew for each race, a box's figures are also "
    "the figures of the team that stands there.",
    OUR_TEAM: "Our team was put into every box in turn and told every line in turn. The team that stood "
    "there took our box.",
}

READING = (
    "Lost = box + line + traffic, measured against the same runner alone from the best box on the shortest "
    "line. The 95 % interval is where the long-run average lies; the 10 to 90 % range is what eight runners "
    "out of ten met in a single race. A difference from the average box counts only if it holds up after "
    "every box has been looked at (Holm's correction)."
)


@dataclass(frozen=True)
class Told:
    """What there is to tell: the day, its samples by question, and their tables."""

    day: Scenario
    samples: tuple[Sample, ...]
    cells: tuple[pandas.DataFrame, ...]
    settled: Settled | None
    units: str

    @property
    def last(self) -> str:
        """The mark at which the answer is given."""
        return self.samples[0].checkpoints[-1]

    @property
    def is_raced(self) -> bool:
        """Does everybody race for places?"""
        return self.day.field.racing == "on"

    @property
    def our_box(self) -> int | None:
        """Which box is ours on paper, if any?"""
        return next((team.box for team in self.day.teams if team.ours), None)


def title_of(told: Told) -> str:
    """What the pictures show."""
    return f"{told.day.name}: at {told.last}, {len(told.samples[0].box)} races"


def sentence_of(told: Told) -> str:
    """What our box costs against the average box; without a box of ours, which box costs least."""
    rows = at(told.cells[0], told.last).set_index("box", drop=False)
    if told.our_box not in rows.index:
        return best_words(best_cell(told.samples[0], -1, ANY_LINE), told.last)
    row = rows.loc[told.our_box].to_dict()
    lost = f"{tenths(row['lost_s_mean'])} s ({ends(row['lost_s_low'], row['lost_s_high'])})"
    against = _settled_words(told.settled) if told.settled else against_words(row)
    compared = "against the average box, " + against
    return f"Box {told.our_box} costs us {lost} by {the_mark(told.last)}; {compared}."


def _settled_words(settled: Settled) -> str:
    """What was clear when the races ended, and that looking several times was paid for."""
    races, looks = len(settled.values), settled.looks_taken
    return f"{difference(settled.found)} ({races} races, {looks} looks planned in advance)"


def text_of(told: Told) -> str:
    """The sentence, and every box at the last mark."""
    whole_rows = box_rows(at(told.cells[0], told.last), told.units, told.is_raced)
    shown = [c for c, head in enumerate(whole_rows[0]) if head not in ON_THE_PAGE]
    rows = [[row[c] for c in shown] for row in whole_rows]
    races = f"Seconds lost by box at {told.last}, {len(told.samples[0].box)} races"
    parts = [sentence_of(told), f"{races}\n{table_text(rows)}", racing_words(told.day)]
    return "\n\n".join(part for part in [*parts, reading_of(told)] if part)


def reading_of(told: Told) -> str:
    """How the figures are read, with racing among the parts where everybody races."""
    if not told.is_raced:
        return READING
    return READING.replace("line + traffic,", "line + traffic + racing,")


def at(table: pandas.DataFrame, checkpoint: str, line: str = ANY_LINE) -> pandas.DataFrame:
    """The rows of one mark and line."""
    return table[(table.checkpoint == checkpoint) & (table.line == line)]


def best_words(best: Best, mark: str) -> str:
    """Which box lost least by this mark, and which others may be as good?"""
    said = f"{best.name.capitalize()} lost the least by {the_mark(mark)}"
    if best.is_clear:
        return f"{said}, clearly less than any other."
    alike = ", ".join(name.removeprefix("box ") for name in best.not_told_from)
    if len(best.not_told_from) == 1:
        return f"{said}, but box {alike} may be just as good."
    if not best.beaten:
        return f"{said}, but any other may be just as good."
    return f"{said}, but boxes {alike} may be just as good."


ON_THE_PAGE = ("10 to 90 %", "extra way", "10 to 90 % places")
"""What a terminal has no room for."""


def box_rows(table: pandas.DataFrame, units: str, is_raced: bool = False) -> list[list[str]]:
    """A row a box, its head first; is_raced: with racing among the parts."""
    parts = ["box", "line", "traffic", *(["racing"] if is_raced else [])]
    rows = [
        [
            *("box", "races", "lost s", "95 % interval", "10 to 90 %"),
            *(f"{part} s" for part in parts),
            *("extra way", "places", "10 to 90 % places", "against the average box"),
        ]
    ]
    for row in table.to_dict("records"):
        rows.append(
            [
                str(row["box"]),
                str(row["seeds"]),
                tenths(row["lost_s_mean"]),
                ends(row["lost_s_low"], row["lost_s_high"]),
                ends(row["lost_s_p10"], row["lost_s_p90"]),
                *(tenths(row[f"{part}_s_mean"], "+") for part in parts),
                length_text(row["extra_m_finish"], units),
                whole(row["places_lost_mean"]),
                whole_ends(row["places_lost_p10"], row["places_lost_p90"]),
                against_words(row),
            ]
        )
    return rows


def line_rows(table: pandas.DataFrame, checkpoint: str, lines: Sequence[str]) -> list[list[str]]:
    """A row a box: the mean loss with its interval for every line."""
    found = {line: at(table, checkpoint, line).set_index("box") for line in lines}
    rows = [["box", *lines]]
    for box in at(table, checkpoint)["box"]:
        each = [found[line].loc[box] for line in lines]
        cells = [f"{tenths(r.lost_s_mean)} ({ends(r.lost_s_low, r.lost_s_high)})" for r in each]
        rows.append([str(box), *cells])
    return rows


def against_words(row: dict[Any, Any]) -> str:
    """A box against the average of all boxes in the same races."""
    p_value = row["against_p"]
    if not p_value < 0.05:
        return NOTHING_SEEN
    low, high = row["against_s_low"], row["against_s_high"]
    return difference(Estimate(row["against_s"], low, high, row["seeds"], p_value))
