"""Running lost seconds back, in words: the sentence, the table by delay and way, and the kick."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from simrun.answers.chase.back_ranges import chased, points_in
from simrun.base.units import length_text
from simrun.engine.set_back import BY_PLAN, FOR_PLACES
from simrun.pages.cautions import LEFT_OUT
from simrun.pages.numbers import DASH, difference, ends, tenths, whole, whole_ends
from simrun.pages.racing_words import OPENING_IS_A_SPLIT
from simrun.pages.sure_words import (
    CHANCE_ALONE,
    short_inputs_words,
    sure_difference,
    turned_round,
)
from simrun.pages.text import paragraphs, table_text
from simrun.scenario.scenario import Scenario
from simrun.tactics.regain import EVENLY, REGAINED
from simrun.trials.how_sure import Points, Sure, sure
from simrun.trials.run_back import Marks
from simrun.trials.statistics import best_of

if TYPE_CHECKING:
    import pandas

KICK = "What a kick brings, in places"
CHART_ALT = "Seconds late at the finish by seconds late at the gun, a line for each way of running them back"

WAYS_WORDS = (
    "By plan: nothing is done about the seconds lost. At once: as hard as a chase may be until they are"
    " run back or nothing is to spare. Evenly: the same metres spread over the rest of the race. Late: "
    "saved until only the hardest running still spends them by the finish. For places: our runners "
    "chase, cover moves and kick as everybody else in the race does."
)

READING = (
    "Late is measured against the same runners in the same race without the delay; everybody else does "
    "the same in both. Run back: late at the gun less late at the finish; a minus is more time lost on "
    "the way. Whoever runs by plan shows what the race gives back or takes by itself. Left: metres "
    "still in hand at the finish, on time and late. Ranges are what eight races out of ten brought; the "
    "95 % range is where the long-run average lies."
)

CANNOT_SAY = (
    "What a chase may cost and how far a kick reaches are assumed and the same in every race; no range "
    "covers them. Our plan keeps the metres in hand as it is run alone; the crowd and the pace in front "
    "take their share of them. A kick that was told is left out, since it would spend what a chase needs."
)

RACING_ON = "Everybody races for places here, though the scenario leaves racing off."


@dataclass(frozen=True)
class Told:
    """What there is to tell. tables: by name, as of the result."""

    day: Scenario
    marks: Marks
    tables: Mapping[str, pandas.DataFrame]
    units: str

    @property
    def team(self) -> str:
        """Who is late?"""
        return str(self.day.our_team)

    @property
    def rows(self) -> pandas.DataFrame:
        """A row an amount in hand, delay and way."""
        return self.tables["chase"]

    @property
    def hands_m(self) -> list[float]:
        """The metres in hand as they were asked for."""
        return [float(hand) for hand in dict.fromkeys(self.rows["in_hand_m"])]

    @property
    def main_hand_m(self) -> float:
        """The amount in hand of which the sentence speaks: the first that was asked for."""
        return self.hands_m[0]

    @property
    def main_delay_s(self) -> float:
        """The delay of which the sentence speaks: the middle of those above nothing; 0 without one."""
        late = sorted({float(delay) for delay in self.rows["delay_s"] if delay > 0.0})
        return late[len(late) // 2] if late else 0.0

    @property
    def main_rows(self) -> pandas.DataFrame:
        """The rows of the amount in hand of which the sentence speaks."""
        return self.rows[self.rows["in_hand_m"] == self.main_hand_m]

    @property
    def races(self) -> int:
        """How many races was every arm run with?"""
        return int(self.tables["chase_races"]["seed"].nunique())

    @cached_property
    def points(self) -> Points | None:
        """Which point of the inputs did every race of an arm meet? None where none are drawn."""
        return points_in(self.day, self.tables["chase_races"])

    def lost(self, hand_m: float, delay_s: float) -> pandas.DataFrame:
        """The races of one amount in hand and delay."""
        lost = self.tables["chase_races"]
        return lost[(lost["in_hand_m"] == hand_m) & (lost["delay_s"] == delay_s)]

    def main(self, way: str) -> dict[str, Any]:
        """The row of the sentence's delay and amount in hand, run back this way."""
        some = self.main_rows
        some = some[(some["delay_s"] == self.main_delay_s) & (some["way"] == way)]
        return records_of(some)[0]


def records_of(table: pandas.DataFrame) -> list[dict[str, Any]]:
    """The rows of a table by the names of its columns."""
    return [{str(name): value for name, value in row.items()} for row in table.to_dict("records")]


def title_of(told: Told) -> str:
    """What the page is about."""
    return f"{told.day.name}: what can {told.team} run back?"


def about_of(told: Told) -> str:
    """How many races, and that racing was switched on for them."""
    invented = "Invented world. " if told.day.invented else ""
    races = "one race" if told.races == 1 else f"{told.races} races"
    switched = f" {RACING_ON}" if told.day.field.racing == "off" else ""
    return f"{invented}{races[0].upper()}{races[1:]} for each row, {told.day.runners} runners.{switched}"


def sentence_of(told: Told) -> str:
    """How many of the seconds lost are run back when spread evenly, beside holding the plan."""
    delay = told.main_delay_s
    if delay == 0.0:
        return f"{told.team} is late by nothing in these races, so there is nothing to run back."
    even, plan = told.main(EVENLY), told.main(BY_PLAN)
    given = f"Of {delay:g} s lost at the start {told.team}"
    if not even["races"]:
        return f"{given} runs nothing back: nobody of the team finished within the time limit."
    often = " in eight races out of ten" if told.races > 1 else ""
    hand = f"evenly, with {length_text(told.main_hand_m, told.units)} in hand"
    back, held = (_back_words(row["back_s_p10"], row["back_s_p90"]) for row in (even, plan))
    return (
        f"{given} runs back {back} by the finish{often} ({hand}); "
        f"holding the plan it gets back {held}. {_price_words(even)}"
    )


def chance_of(told: Told) -> str:
    """Which part of the sentence's ranges is chance; empty where all is, or none can be told."""
    if told.points is None or told.main_delay_s == 0.0:
        return ""
    rows = [told.main(way) for way in (EVENLY, BY_PLAN)]
    ends = [(row["back_s_chance_p10"], row["back_s_chance_p90"]) for row in rows]
    if not np.isfinite(ends).all():
        return ""
    back, held = (_back_words(low, high) for low, high in ends)
    return f"By {CHANCE_ALONE} it would be {back}; holding the plan {held}."


def _back_words(low_s: float, high_s: float) -> str:
    """What was run back: "3.1 to 4.9 s", "between nothing and 2.0 s", or nothing."""
    low, high = round(low_s, 1), round(high_s, 1)
    if high <= 0.0:
        return "nothing" + (f" and loses {ends(-high, -low)} s more" if low < 0.0 else "")
    if low <= 0.0:
        return f"between nothing and {tenths(high)} s"
    return f"{tenths(high)} s" if low == high else f"{ends(low, high)} s"


def _price_words(row: dict[str, Any]) -> str:
    """What is left at the finish, in seconds, places and points."""
    left, behind, points = row["finish_s_mean"], row["places_mean"], row["points_mean"]
    if round(left, 1) <= 0.0:
        return "On average nothing of it is left at the finish."
    given = f"The {tenths(left)} s that are left on average"
    if points != points:
        return f"{given} change the place by {tenths(behind, '+')} a runner."
    if behind >= 0.0 and points >= 0.0:
        return f"{given} cost {tenths(behind)} places a runner and {tenths(points)} team points."
    both = f"{tenths(behind, '+')} places a runner and {tenths(points, '+')} team points"
    return f"{given} make a difference of {both}."


def details_of(told: Told) -> tuple[str, ...]:
    """Which part of that is chance, what running back is worth against the plan, which way is best."""
    if told.main_delay_s == 0.0 or not told.main(EVENLY)["races"]:
        return ()
    chance = (found,) if (found := chance_of(told)) else ()
    return (*chance, _worth_words(told), _way_words(told), *_hand_words(told))


def _worth_words(told: Told) -> str:
    """Run back evenly against holding the plan; not told where what nobody has measured may undo it."""
    found = _chased(told, told.main_hand_m, told.main_delay_s, EVENLY)
    words = ("s", "earlier", "later")
    turned = turned_round(found, *words)
    if turned:
        return f"Whether running back evenly beats holding the plan, we cannot tell: {turned}."
    worth = sure_difference(found, *words)
    return f"Run back evenly against holding the plan, at the finish a runner: {worth}."


def _chased(told: Told, hand_m: float, delay_s: float, way: str) -> Sure:
    return chased(told.lost(hand_m, delay_s), way, told.points)


def _way_words(told: Told) -> str:
    """Does it matter how the seconds are run back?"""
    some = told.lost(told.main_hand_m, told.main_delay_s)
    left = {w: some.loc[some["way"] == w, "finish_s"].to_numpy(float) for w in REGAINED}
    found = best_of(left, judge=lambda values: sure(values, told.points))
    if found.is_clear:
        return f"Run back {found.name} leaves the least at the finish, clearly less than any other way."
    alike = " or ".join(found.not_told_from)
    return f"Run back {found.name} leaves the least at the finish, but {alike} may be just as good."


def _hand_words(told: Told) -> tuple[str, ...]:
    """Does it matter how much is kept in hand? In a short race the pace itself leaves more than that."""
    kept = told.main(EVENLY)["kept_m_mean"]
    if len(told.hands_m) < 2 or told.rows.groupby("in_hand_m")["kept_m_mean"].max().nunique() > 1:
        return ()
    left = length_text(max(0.0, kept), told.units)
    return (
        f"What is kept in hand makes no difference here: at race pace {left} are left at the finish.",
    )


def back_title(told: Told, hand_m: float) -> str:
    """What stands over the table of one amount in hand."""
    return f"{told.team} late at the gun, with {length_text(hand_m, told.units)} in hand"


def back_rows(told: Told, hand_m: float) -> list[list[str]]:
    """A row a delay and way, its head first."""
    rows = [
        [
            "late at the gun",
            "run back",
            f"late at {told.marks.name} s",
            "late at the finish s",
            "eight of ten",
            "run back s",
            "against the plan",
            "places",
            "points",
            "left",
        ]
    ]
    some = told.rows[told.rows["in_hand_m"] == hand_m]
    for row in records_of(some):
        worth = DASH
        if row["way"] not in (BY_PLAN, FOR_PLACES) and row["delay_s"] > 0.0:
            found = _chased(told, hand_m, row["delay_s"], row["way"])
            worth = difference(found, "s", "earlier", "later")
        rows.append(
            [
                f"{row['delay_s']:g} s",
                row["way"],
                tenths(row["start_s_mean"]),
                tenths(row["finish_s_mean"]),
                ends(row["finish_s_p10"], row["finish_s_p90"]),
                tenths(row["back_s_mean"], "+"),
                worth,
                tenths(row["places_mean"], "+"),
                tenths(row["points_mean"], "+"),
                _metres(row["kept_m_mean"], row["left_m_mean"], told.units),
            ]
        )
    return rows


def _metres(on_time_m: float, late_m: float, units: str) -> str:
    """Left at the finish on time and late: "24 m, 5 m"."""
    if on_time_m != on_time_m:
        return DASH
    return f"{length_text(max(0.0, on_time_m), units)}, {length_text(max(0.0, late_m), units)}"


def _whole_range(low: float, high: float) -> str:
    """ "12 to 31", or the one number where both ends are the same."""
    return whole(low) if whole(low) == whole(high) else whole_ends(low, high)


def kick_words(told: Told) -> str:
    """What a kick from the farthest mark brings in the sentence's amount in hand."""
    table = told.tables["chase_kick"]
    some = table[(table["in_hand_m"] == told.main_hand_m) & (table["way"] == FOR_PLACES)]
    return kick_said(records_of(some)[0], told.day.runners, told.units)


def kick_said(row: dict[str, Any], runners: int, units: str) -> str:
    """What a kick from one distance to go brings. row: of `back_ranges.kick_ranges`."""
    winners, most, our_most = (
        _whole_range(row[f"{name}_p10"], row[f"{name}_p90"])
        for name in ("winners", "most", "our_most")
    )
    return (
        f"From {to_go_words(row['to_go_m'], units)} to go a kick still wins places for {winners} of "
        f"{runners} runners, {most} at the most; the best of ours wins {our_most}, and on average each of "
        f"ours {won_words(row['our_places'])}."
    )


def won_words(places: float) -> str:
    """So many places, won or lost; a tenth of a place counts."""
    told = round(places, 1)
    if not told:
        return "wins none"
    return f"{'wins' if told > 0 else 'loses'} {tenths(abs(places))}"


def to_go_words(far_m: float, units: str) -> str:
    """Marks to go are called by their metres everywhere; the yards stand beside them where lengths are in
    yards."""
    metres = f"{far_m:.0f} m"
    return f"{metres} ({length_text(far_m, units)})" if units == "us" else metres


def kick_rows(told: Told) -> list[list[str]]:
    """A row a distance to go and way, of the sentence's amount in hand."""
    rows = [["to go", "ours run", "ours win", "95 % range", "best of ours", "winners", "most"]]
    table = told.tables["chase_kick"]
    for row in records_of(table[table["in_hand_m"] == told.main_hand_m]):
        rows.append(
            [
                to_go_words(row["to_go_m"], told.units),
                row["way"],
                tenths(row["our_places"], "+"),
                ends(row["our_places_low"], row["our_places_high"]),
                _whole_range(row["our_most_p10"], row["our_most_p90"]),
                _whole_range(row["winners_p10"], row["winners_p90"]),
                whole(row["most_mean"]),
            ]
        )
    return rows


def text_of(told: Told) -> str:
    """The whole answer as a terminal shows it."""
    parts = [sentence_of(told), " ".join(details_of(told)), about_of(told)]
    for hand in told.hands_m:
        parts.append(f"{back_title(told, hand)}\n{table_text(back_rows(told, hand), left=2)}")
    if "chase_kick" in told.tables:
        parts.append(f"{KICK}\n{table_text(kick_rows(told), left=2)}\n{kick_words(told)}")
    parts += [WAYS_WORDS, f"{READING} {CANNOT_SAY}", OPENING_IS_A_SPLIT, LEFT_OUT]
    parts.append(short_inputs_words(told.day))
    return paragraphs(*parts)
