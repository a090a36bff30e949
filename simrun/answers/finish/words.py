"""The finish in words: the sentence, the tables of teams and runners, and last year's beside ours."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from simrun.answers.finish.against_results import expected_inside
from simrun.base.units import clock_text, length_text
from simrun.measure.finish import start_mark
from simrun.pages.cautions import LEFT_OUT
from simrun.pages.numbers import (
    DASH,
    NOTHING_SEEN,
    difference,
    ends,
    ordinal,
    percent,
    tenths,
    the_mark,
    whole,
)
from simrun.pages.racing_words import racing_words
from simrun.pages.sure_words import CHANCE_ALONE, short_inputs_words
from simrun.pages.text import table_text
from simrun.scenario.scenario import Scenario
from simrun.trials.statistics import Estimate

if TYPE_CHECKING:
    import pandas

SHOWN_TEAMS = 12

READING = (
    "Ranges are what eight races out of ten brought. Lost: seconds lost {}, against "
    "the same runner alone from the best box."
)


@dataclass(frozen=True)
class Told:
    """What there is to tell. tables: by name. unknown: columns of theirs that fit no mark of ours.

    racing: seconds a runner of ours that racing added by the finish; None where nobody races for places.
    """

    day: Scenario
    races: int
    tables: Mapping[str, pandas.DataFrame]
    unknown: Mapping[str, str] = field(default_factory=dict)
    racing: Estimate | None = None
    units: str = "metric"

    @property
    def teams(self) -> pandas.DataFrame:
        """Every team, the best mean first."""
        return self.tables["finish_teams"]


def sentence_of(told: Told) -> str:
    """Where our team places and with how many points; without a team of ours, which team leads. Of a race
    for places also what racing added."""
    return " ".join(part for part in (_placed_words(told), racing_sentence(told)) if part)


def _placed_words(told: Told) -> str:
    ours = told.day.our_team
    row = told.teams[told.teams["team"] == ours].iloc[0] if ours else told.teams.iloc[0]
    if not row["races"]:
        return f"{row['team']} never had five runners at the finish in {_races(told.races)}."
    if told.races == 1:
        place = ordinal(row["rank_low"])
        return f"In one race {row['team']} places {place} with {whole(row['points_low'])} points."
    places = range_words(ordinal(row["rank_low"]), ordinal(row["rank_high"]))
    points = range_words(whole(row["points_low"]), whole(row["points_high"]))
    return (
        f"{row['team']} places {places} with {points} points in eight races out of ten"
        f"{_short_handed(row, told.races)}, and wins {_wins(row['wins_share'], told.races)}."
    )


def racing_sentence(told: Told) -> str:
    """What racing for places added to our runners' times by the finish; empty where nobody races."""
    found = told.racing
    if found is None or not found.count:
        return ""
    if not math.isfinite(found.low):
        verb = "added" if round(found.mean, 1) >= 0 else "won"
        return f"Racing {verb} {tenths(abs(found.mean))} s a runner by the finish."
    made = difference(found, "s", "slower", "faster")
    if made == NOTHING_SEEN:
        return f"Racing makes {NOTHING_SEEN} to our times."
    return f"Racing makes our runners {made} by the finish."


def chance_of(told: Told) -> str:
    """Which part of the sentence's ranges is chance; empty where all is, or none can be told."""
    ours = told.day.our_team
    row = told.teams[told.teams["team"] == ours].iloc[0] if ours else told.teams.iloc[0]
    if not told.day.inputs.drawn or np.isnan(row["points_chance_low"]):
        return ""
    places = range_words(ordinal(row["rank_chance_low"]), ordinal(row["rank_chance_high"]))
    points = range_words(whole(row["points_chance_low"]), whole(row["points_chance_high"]))
    return f"By {CHANCE_ALONE} it would be {places} with {points} points."


def _wins(share: float, races: int) -> str:
    count = round(share * races)
    if count == races:
        return f"all {races}"
    return f"{count or 'none'} of {races}"


def _short_handed(row: Any, races: int) -> str:
    """How often was there no score? Such races are in no range."""
    if row["races"] == races:
        return ""
    return f" (of the {row['races']} in which it had five at the finish)"


def _races(count: int) -> str:
    return "one race" if count == 1 else f"{count} races"


def range_words(low: str, high: str) -> str:
    """ "2nd to 4th", or the one value where both ends are the same."""
    return low if low == high else f"{low} to {high}"


def text_of(told: Told) -> str:
    """The whole answer as a terminal shows it."""
    first = "\n".join(part for part in (sentence_of(told), chance_of(told)) if part)
    parts = [first, f"{TEAMS}\n{table_text(team_rows(told))}"]
    parts += [unscored] if (unscored := unscored_words(told)) else []
    if "finish_ours" in told.tables:
        parts.append(f"{our_title(told)}\n{table_text(our_rows(told))}")
    if "finish_results" in told.tables:
        parts.append("\n".join([AGAINST, *against_words(told), *unknown_words(told)]))
        if stretches := stretch_rows(told):
            parts.append(f"{STRETCHES}\n{table_text(stretches)}")
        parts.append(table_text(against_rows(told), left=2))
    parts += [racing_words(told.day)] if told.racing else []
    return "\n\n".join([*parts, f"{reading_of(told)} {LEFT_OUT}", short_inputs_words(told.day)])


def reading_of(told: Told) -> str:
    """How the figures are read, with racing among what is lost where everybody races."""
    lost = "to the box, to traffic and to racing" if told.racing else "to the box and to traffic"
    return READING.format(lost)


TEAMS = "Team scores at the finish"
AGAINST = "Their race against ours"


def shown_teams(told: Told) -> pandas.DataFrame:
    """The first teams and ours, without those that never scored."""
    near = (told.teams.index < SHOWN_TEAMS) | (told.teams["team"] == told.day.our_team)
    return told.teams[near].dropna(subset=["points_mean"])


def team_rows(told: Told) -> list[list[str]]:
    """A row a team, its head first."""
    rows = [["team", "average points", "points", "place", "wins"]]
    for row in shown_teams(told).to_dict("records"):
        rows.append(
            [
                row["team"],
                whole(row["points_mean"]),
                range_words(whole(row["points_low"]), whole(row["points_high"])),
                range_words(whole(row["rank_low"]), whole(row["rank_high"])),
                percent(row["wins_share"]),
            ]
        )
    return rows


def unscored_words(told: Told) -> str:
    """Which teams had too few at the finish, in some races or in all? Their ranges leave those races out."""
    few = told.teams[told.teams["races"] < told.races]
    each = [f"{row['team']} ({row['races']})" for row in few.to_dict("records")]
    if not each:
        return ""
    return (
        f"With fewer than five at the finish a team has no score, and that race counts in none of its "
        f"figures but the wins. Races with a score, of {told.races}: {', '.join(each)}."
    )


def our_title(told: Told) -> str:
    """What stands over our runners."""
    return f"{told.day.our_team}, in the order of finish"


def our_rows(told: Told) -> list[list[str]]:
    """A row for our first home, our second, and so on."""
    mark = told.day.strip.checkpoints[start_mark(told.day.strip)].name
    raced = ["racing s by the finish", "left there"] if told.racing else []
    rows = [["our", "place", "time", f"s lost by {the_mark(mark)}", "s lost by the finish", *raced]]
    for row in told.tables["finish_ours"].to_dict("records"):
        rows.append(
            [
                f"{row['our']}.",
                range_words(whole(row["place_low"]), whole(row["place_high"])),
                range_words(clock_text(row["time_s_low"]), clock_text(row["time_s_high"])),
                ends(row["start_lost_s_low"], row["start_lost_s_high"]),
                ends(row["lost_s_low"], row["lost_s_high"]),
                *(_raced_cells(row, told.units) if told.racing else []),
            ]
        )
    return rows


def _raced_cells(row: Mapping[Any, Any], units: str) -> list[str]:
    """What racing added by the finish, and what was left of the reserve there."""
    low, high = row["left_m_low"], row["left_m_high"]
    if not math.isfinite(low):
        return [DASH, DASH]
    left = range_words(length_text(low, units), length_text(high, units))
    return [ends(row["racing_s_low"], row["racing_s_high"]), left]


SHOWN_PLACES = {
    "first": 0.0,
    "a quarter in": 0.25,
    "middle": 0.5,
    "three quarters in": 0.75,
    "last": 1.0,
}
"""The places that a page shows; the file has every one."""

STRETCHES = (
    "Seconds by which ours are slower (+) or faster (-), by stretch and third of the finishers; a star: by "
    "more than our own races differ"
)


def against_rows(told: Told) -> list[list[str]]:
    """A row a mark and place in the field: their time, ours, and whether theirs lies in our range."""
    rows = [["mark", "place in the field", "theirs", "ours", "eight of ten", "inside"]]
    for mark, some in told.tables["finish_results"].groupby("checkpoint", sort=False):
        for words, share in SHOWN_PLACES.items():
            row = some.iloc[(some["share"] - share).abs().argmin()]
            band = f"{clock_text(row['our_low_s'])} to {clock_text(row['our_high_s'])}"
            cells = [clock_text(row["their_s"]), clock_text(row["our_s"]), band]
            rows.append([str(mark), words, *cells, "yes" if row["inside"] else "no"])
    return rows


def stretch_rows(told: Told) -> list[list[str]]:
    """A row a stretch: by how many seconds ours are slower (+) or faster there, a column a third."""
    table = told.tables["finish_stretches"]
    if not len(table):
        return []
    thirds = list(dict.fromkeys(table["third"]))
    rows = [["stretch", *(f"{third}, s" for third in thirds)]]
    for (begin, end), some in table.groupby(["from", "to"], sort=False):
        cells = {row["third"]: row for row in some.to_dict("records")}
        rows.append([f"{begin} to {end}", *(_off_cell(cells.get(third)) for third in thirds)])
    return rows


def _off_cell(row: Mapping[Any, Any] | None) -> str:
    if row is None:
        return DASH
    return tenths(row["off_s"], "+") + ("*" if row["is_off"] else "")


def against_words(told: Told) -> tuple[str, ...]:
    """How much of last year's race lies within ours, and where the model is off by more than chance."""
    inside = told.tables["finish_results"]["inside"]
    own = percent(expected_inside(told.races))
    within = (
        f"{int(inside.sum())} of {len(inside)} times from their race, place by place, lie within what eight "
        f"races out of ten of ours brought: {percent(float(inside.mean()))}. Of one more race of our own "
        f"about {own} would."
    )
    return (within, off_words(told.tables["finish_stretches"])) if len(inside) else ()


def off_words(table: pandas.DataFrame) -> str:
    """Which stretches are run too slowly or too fast, the farthest off first."""
    if not len(table):
        return "Too few of theirs are known at two marks to say where the model is off."
    pieces = f"{len(table)} pieces (stretches by thirds of the finishers)"
    off = table[table["is_off"]]
    if not len(off):
        return f"In none of {pieces} is the model off by more than its own races differ."
    far = off.iloc[off["off_s"].abs().argsort()[::-1]]
    each = [_off_words(row) for row in far.to_dict("records")[:MOST_OFF]]
    more = f", and {len(off) - MOST_OFF} more" if len(off) > MOST_OFF else ""
    return f"The model is off in {len(off)} of {pieces}: {'; '.join(each)}{more}."


MOST_OFF = 4


def _off_words(row: Mapping[Any, Any]) -> str:
    way = "slow" if row["off_s"] > 0 else "fast"
    where = f"from {the_mark(row['from'])} to {the_mark(row['to'])}"
    return (
        f"{where} our {row['third']} is {tenths(abs(row['off_s']))} s too {way} ({tenths(row['our_s'])} s, "
        f"theirs {tenths(row['their_s'])})"
    )


def unknown_words(told: Told) -> list[str]:
    """Which of their columns are not on this course?"""
    return [
        f"Their column {name!r} is not a mark on this course"
        + (f"; did you mean {near!r}?" if near else ".")
        for name, near in told.unknown.items()
    ]
