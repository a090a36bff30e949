"""The finish in words: the sentence, the tables of teams and runners, and last year's beside ours."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from simrun.base.units import clock_text
from simrun.measure.finish import start_mark
from simrun.pages.cautions import LEFT_OUT
from simrun.pages.numbers import ends, ordinal, percent, the_mark, whole
from simrun.pages.sure_words import CHANCE_ALONE, short_inputs_words
from simrun.pages.text import table_text
from simrun.scenario.scenario import Scenario

if TYPE_CHECKING:
    import pandas

SHOWN_TEAMS = 12

READING = (
    "Ranges are what eight races out of ten brought. Lost: seconds lost to the box and to traffic, against "
    "the same runner alone from the best box."
)


@dataclass(frozen=True)
class Told:
    """What there is to tell. tables: by name. unknown: columns of theirs that fit no mark of ours."""

    day: Scenario
    races: int
    tables: Mapping[str, pandas.DataFrame]
    unknown: Mapping[str, str] = field(default_factory=dict)

    @property
    def teams(self) -> pandas.DataFrame:
        """Every team, the best mean first."""
        return self.tables["finish_teams"]


def sentence_of(told: Told) -> str:
    """Where our team places and with how many points; without a team of ours, which team leads."""
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
        beside = [AGAINST, table_text(against_rows(told), left=2), *unknown_words(told)]
        parts.append("\n".join(beside))
    return "\n\n".join([*parts, f"{READING} {LEFT_OUT}", short_inputs_words(told.day)])


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
    rows = [["our", "place", "time", f"s lost by {the_mark(mark)}", "s lost by the finish"]]
    for row in told.tables["finish_ours"].to_dict("records"):
        rows.append(
            [
                f"{row['our']}.",
                range_words(whole(row["place_low"]), whole(row["place_high"])),
                range_words(clock_text(row["time_s_low"]), clock_text(row["time_s_high"])),
                ends(row["start_lost_s_low"], row["start_lost_s_high"]),
                ends(row["lost_s_low"], row["lost_s_high"]),
            ]
        )
    return rows


def against_rows(told: Told) -> list[list[str]]:
    """A row a mark and place in the field: their time, ours, and whether theirs lies in our range."""
    rows = [["mark", "place in the field", "theirs", "ours", "eight of ten", "inside"]]
    for row in told.tables["finish_results"].to_dict("records"):
        band = f"{clock_text(row['our_low_s'])} to {clock_text(row['our_high_s'])}"
        cells = [clock_text(row["their_s"]), clock_text(row["our_s"]), band]
        rows.append([row["checkpoint"], row["place"], *cells, "yes" if row["inside"] else "no"])
    return rows


def against_words(told: Told) -> str:
    """How much of last year's race lies within ours?"""
    inside = told.tables["finish_results"]["inside"]
    return (
        f"{int(inside.sum())} of {len(inside)} times from their race lie within what eight races out of ten "
        "of ours brought."
    )


def unknown_words(told: Told) -> list[str]:
    """Which of their columns are not on this course?"""
    return [
        f"Their column {name!r} is not a mark on this course"
        + (f"; did you mean {near!r}?" if near else ".")
        for name, near in told.unknown.items()
    ]
