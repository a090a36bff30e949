"""What would a coach write beside every stretch? From the simulated passing and traffic, and the ground."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simrun.base.units import length_text, pace_text
from simrun.measure.passing import MOVE, SETTLED, SIT, UNTOLD, Passing
from simrun.measure.stretches import Stretch
from simrun.pages.cautions import LEFT_OUT
from simrun.pages.numbers import DASH, ends, tenths
from simrun.pages.racing_words import racing_words
from simrun.pages.sure_words import CHANCE_ALONE, short_inputs_words
from simrun.pages.text import table_text
from simrun.scenario.scenario import Scenario
from simrun.trials.how_sure import Points, single_ranges

COSTS_S = 1.0
"""Traffic that costs less than this on a stretch is not worth a word (assumed)."""

CLIMB_M = 2.0

GO_OUT = "go out"

MOST_NAMED = 3
"""A headline names no more stretches than this of a kind."""

READING = (
    "Faster runners: they would come out in front with nobody near. Traffic: seconds longer than alone, in "
    "eight races of ten. Pace: the runner in the middle."
)


@dataclass(frozen=True)
class Told:
    """One stretch, what the races say about it, one word for it, and the note."""

    stretch: Stretch
    passing: Passing
    word: str
    note: str
    points: Points | None = None

    @property
    def traffic_ranges(self) -> dict[str, float]:
        """What traffic costs from race to race, and what it would by chance alone: eight races of ten."""
        (low, high), (chance_low, chance_high) = single_ranges(self.passing.traffic_s, self.points)
        return {
            "traffic_low_s": low,
            "traffic_high_s": high,
            "traffic_chance_low_s": chance_low,
            "traffic_chance_high_s": chance_high,
        }

    @property
    def label(self) -> str:
        """The stretch's name, with its lap where the ground has been run before."""
        return self.stretch.name + (f", lap {self.stretch.lap}" if self.stretch.lap > 1 else "")


def told(
    found: Sequence[Stretch], passings: list[Passing], units: str, points: Points | None = None
) -> tuple[Told, ...]:
    """A note for every stretch, in the order of the race; points of the inputs where they were drawn.

    Check: tests/unit/measure/test_passing.py.
    """
    words = [_word(k, passing) for k, passing in enumerate(passings)]
    rows = []
    for k, (stretch, passing) in enumerate(zip(found, passings, strict=True)):
        ahead = (found[k + 1], passings[k + 1], words[k + 1]) if k + 1 < len(found) else None
        before = (found[k - 1], words[k - 1]) if k else None
        parts = [
            advice_words(words[k], passing, before),
            _cost(passing, points),
            _ground(stretch, units),
        ]
        parts.append(_what_comes(ahead, words[k]) if ahead else "")
        rows.append(
            Told(stretch, passing, words[k], " ".join(part for part in parts if part), points)
        )
    return tuple(rows)


def _word(number: int, passing: Passing) -> str:
    return passing.word if number else GO_OUT


def advice_words(word: str, passing: Passing, before: tuple[Stretch, str] | None = None) -> str:
    """What to do on ground of this word; before: the stretch before it and its word."""
    if word == GO_OUT:
        return "Go out."
    if word == SETTLED:
        return "Settled: hardly anyone changes places."
    if word == UNTOLD:
        return "Too few would pass here to say."
    share = _share_words(passing)
    if word == SIT:
        return f"Sit: {share}."
    if word == MOVE:
        after = f" after the {before[0].name}" if before and before[1] == SIT else ""
        return f"Move{after}: {share}."
    return f"Pass one at a time: {share}."


def _share_words(passing: Passing) -> str:
    of_ten = round(10 * passing.open_share)
    if of_ten in (0, 10):
        who = "almost no" if of_ten == 0 else "almost every"
        return f"{who} faster runner gets by"
    return f"about {of_ten} in 10 faster runners get by"


def _cost(passing: Passing, points: Points | None) -> str:
    if not passing.mean_traffic_s >= COSTS_S:
        return ""
    (least, most), (first, last) = single_ranges(passing.traffic_s, points)
    low, high = tenths(least), tenths(most)
    size = f"{low} s" if low == high else f"{low} to {high} s"
    alone = "" if points is None or np.isnan(first) else f" ({CHANCE_ALONE} {ends(first, last)} s)"
    return f"Traffic costs {size}{alone}."


def _ground(stretch: Stretch, units: str) -> str:
    if abs(stretch.climb_m) < CLIMB_M:
        return ""
    way = "Climbs" if stretch.climb_m > 0 else "Drops"
    return f"{way} {length_text(abs(stretch.climb_m), units)}."


def _what_comes(ahead: tuple[Stretch, Passing, str], word: str) -> str:
    """Be placed before the way closes; and where it costs more than the ground before it."""
    stretch, passing, next_word = ahead
    if next_word == SIT and word != SIT:
        return f"Be where you want to be before the {stretch.name}."
    if passing.mean_traffic_s >= 2 * COSTS_S:
        return f"Traffic ahead: {tenths(passing.mean_traffic_s)} s on the {stretch.name}."
    return ""


def sentence_of(rows: Sequence[Told]) -> str:
    """Where to move up and where to sit; at most three of each, those that stand out most."""
    move, sit = _listed(rows, MOVE), _listed(rows, SIT)
    if not move and not sit:
        return "No stretch stands out for moving up or for sitting still."
    said = [f"Move up on {move}"] if move else []
    said += [f"sit through {sit}"] if sit else []
    whole = "; ".join(said)
    return f"{whole[0].upper()}{whole[1:]}."


def _listed(rows: Sequence[Told], word: str) -> str:
    """ "the bank, the lane on lap 2 and the green": stretches of this word in the order of the race."""
    of_word = [row for row in rows if row.word == word]
    best = sorted(of_word, key=lambda row: row.passing.open_share, reverse=word == MOVE)
    kept = list(dict.fromkeys(row.stretch.name for row in best))[:MOST_NAMED]
    ordered = dict.fromkeys(r.stretch.name for r in of_word if r.stretch.name in kept)
    names = [_with_laps(rows, name, word) for name in ordered]
    return names[0] if len(names) == 1 else " and ".join([", ".join(names[:-1]), *names[-1:]])


def _with_laps(rows: Sequence[Told], name: str, word: str) -> str:
    """The stretch, with its laps where it is not this word on every lap."""
    every = [row for row in rows if row.stretch.name == name]
    laps = [str(row.stretch.lap) for row in every if row.word == word]
    plain = "the " + name.replace(", ", " and ").replace(" to ", " to the ")
    return plain if len(laps) == len(every) else f"{plain} (lap {' and '.join(laps)})"


def card_rows(rows: Sequence[Told], units: str) -> list[list[str]]:
    """The table of the card as text, without its head."""
    return [
        [
            length_text(row.stretch.from_m, units) if row.stretch.from_m else "start",
            row.label,
            length_text(row.stretch.width_m, units),
            _known(row.passing.middle_m_s, pace_text(row.passing.middle_m_s, units)),
            row.note,
        ]
        for row in rows
    ]


def _known(value: float, words: str) -> str:
    return DASH if np.isnan(value) else words


def text_of(rows: Sequence[Told], units: str) -> str:
    """The sentence, and every stretch with its note."""
    cells = [["from", "stretch", "note"], *([c[0], c[1], c[-1]] for c in card_rows(rows, units))]
    return f"{sentence_of(rows)}\n\n{table_text(cells, left=3)}"


def title_of(scenario: Scenario, units: str) -> str:
    """The course and its length."""
    return f"{scenario.name}: {length_text(scenario.strip.length_m, units)}"


def rests_on(scenario: Scenario, seeds: int) -> str:
    """Which races the figures come from."""
    invented = "Invented world. " if scenario.invented else ""
    races = "One simulated race" if seeds == 1 else f"{seeds} simulated races"
    return f"{invented}{races} of {scenario.runners} runners."


def foot_of(scenario: Scenario, seeds: int) -> str:
    """Everything at the foot of the printed sheet."""
    said = rests_on(scenario, seeds), racing_words(scenario), READING, short_inputs_words(scenario)
    return " ".join(part for part in (*said, LEFT_OUT) if part)
