"""What was learnt, whether it agrees with itself, and what to measure next, as a coach would say it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from simrun.answers.learn.sheet_words import NOTHING_SENTENCE, what_words
from simrun.pages.input_words import INPUT_WORDS
from simrun.pages.numbers import percent
from simrun.pages.text import table_text
from simrun.scenario.scenario import Scenario
from simrun.sources.assumed import assumed_inputs
from simrun.trials.learning.agreement import Agreement, weighted_ends
from simrun.trials.learning.lesson import Lesson
from simrun.trials.learning.next_measure import EDGES, LINE, Worth
from simrun.trials.learning.sightings import ABREAST, RATE, SECTION, SPLITS, THIRDS, Sighting

CLEARLY = 0.85
"""A range is called narrower where it is no longer than this share of what it was."""

MOST_TOLD = 3
MOST_NEXT = 8
LEAST_WORTH = 0.02
"""What narrows an answer by less than this share is not worth the ten minutes."""

BEFORE, AFTER = "before", "after"

HOW_READ = (
    "Every range holds nine of ten. Before: as the figures are declared, or as the scenario narrows them. "
    "After: the mixes of inputs that give what you saw, with errors of timing and counting, and with paces "
    "and openings drawn anew in every race. They belong together: the file holds whole mixes, not single "
    "ranges."
)

ANSWER_WORDS = {
    LINE: "inside or outside at the first turn",
    EDGES: "what the outer boxes lose",
}

NEXT_READ = (
    "How well each answer would be known if only the inputs stood between us and it: one standard "
    "deviation, in seconds, with what you have fed in, and on average with this as well."
)

FIT = "Does it give what you saw?"
NEXT = "What to measure next"
RANGES = "Every figure, before and after"

INPUTS_ALT = "The inputs before and after."
FIT_ALT = "What was seen beside what the races give."


@dataclass(frozen=True)
class Told:
    """What there is to tell. told: figures of every source in races at what was learnt, (R, F) each."""

    day: Scenario
    lesson: Lesson
    told: Sequence[Any]
    worths: Sequence[Worth]
    file: str

    @property
    def narrowed(self) -> tuple[str, ...]:
        """Which inputs are clearly narrower now? The most narrowed first."""
        if not self.lesson.is_learnt:
            return ()
        shares = {key: self.share_left(key) for key in self.lesson.learnt_keys}
        return tuple(sorted((k for k in shares if shares[k] <= CLEARLY), key=lambda k: shares[k]))

    def share_left(self, key: str) -> float:
        """How long is the range of an input now, as a share of what it was?"""
        (low, high), (first, last) = self.before(key), self.after(key)
        return (last - first) / (high - low) if high > low else 1.0

    def before(self, key: str) -> tuple[float, float]:
        """Nine of ten of an input before anything was seen."""
        at = self.lesson.table.keys.index(key)
        low, high = (float(ends[at]) for ends in self.lesson.ends)
        return low + 0.05 * (high - low), high - 0.05 * (high - low)

    def after(self, key: str) -> tuple[float, float]:
        """Nine of ten of an input now."""
        low, _, high = self.lesson.ranges()[key]
        return low, high


def title_of(told: Told) -> str:
    """What the page is about."""
    return f"{told.day.name}: what your counts and times say"


def about_words(told: Told) -> str:
    """How many races, and what was fed in."""
    invented = "Invented world. " if told.day.invented else ""
    fed = "; ".join(_fed(source.sightings) for source in told.lesson.sources) or "nothing fed in"
    return f"{invented}{len(told.lesson.table.races)} races, each at other inputs. Fed in: {fed}."


def _fed(sightings: Sequence[Sighting]) -> str:
    splits = [each for each in sightings if each.kind == SPLITS]
    if splits:
        marks = ", ".join(each.place[0] for each in splits)
        return f"{sum(each.count for each in splits)} split times at {marks}"
    return what_words(sightings[0])


def sentence_of(told: Told) -> str:
    """What is known better now; or that what was seen contradicts itself, or tells nothing."""
    lesson = told.lesson
    if not lesson.sources:
        return _next_sentence(told)
    out = _left_out_words(told)
    if lesson.contradicts:
        return f"{_contradiction(told)}{_led(out)}"
    if not told.narrowed:
        known = "What you fed in narrows none of the inputs clearly." if lesson.used else ""
        return " ".join(part for part in (known, out) if part)
    most = [f"{meaning_of(key)} {_moved(told, key)}" for key in told.narrowed[:MOST_TOLD]]
    count = len(told.narrowed)
    figures = "figures is" if count == 1 else "figures are"
    known = (
        f"{count} of {len(lesson.table.keys)} {figures} clearly narrower now: {'; '.join(most)}."
    )
    return f"{known}{_led(out)}"


def _led(text: str) -> str:
    return f" {text}" if text else ""


def _moved(told: Told, key: str) -> str:
    """The range of an input now, and what it was."""
    unit = assumed_inputs()[key].unit
    now, was = (between(*ends, unit) for ends in (told.after(key), told.before(key)))
    return f"is {now} (was {was})"


def between(low: float, high: float, unit: str) -> str:
    """A range with its unit; shares of one as per cent."""
    if not unit:
        return f"{100 * low:.0f} to {100 * high:.0f} %"
    digits = 2 if high < 10 else 1
    return f"{low:.{digits}f} to {high:.{digits}f} {unit}"


def meaning_of(key: str) -> str:
    """What an input is, in words."""
    return INPUT_WORDS[key]


def _next_sentence(told: Told) -> str:
    if not told.worths:
        return f"Nothing is fed in yet. {NOTHING_SENTENCE}"
    best = told.worths[0]
    return (
        f"Nothing is fed in yet. Most is learnt from {what_words(best.sighting)}: it would take "
        f"{percent(1 - best.then_s / best.now_s)} off what is not known of {ANSWER_WORDS[best.answer]}."
    )


def _contradiction(told: Told) -> str:
    lesson = told.lesson
    against = [one for one in lesson.others if not one.agrees]
    odd = min(against or [one for one in lesson.fit if not one.agrees], key=lambda one: one.share)
    source = lesson.used[odd.source]
    name, off = name_of(lesson.sources[source].sightings), _off(told, odd, source)
    if not against:
        return (
            f"No mix of the inputs gives all of what you fed in: {name} do not fit. {off} Nothing is "
            "narrowed until that list is looked at again."
        )
    rest = [name_of(lesson.sources[i].sightings) for i in lesson.used if i != source]
    return (
        f"What you fed in contradicts itself: {name} against {listed(rest)}. {off} "
        "Nothing is narrowed until one of them is looked at again."
    )


def _off(told: Told, found: Agreement, source: int) -> str:
    """What was seen, and what was to be expected."""
    sighting, figure = told.lesson.sources[source].figures[found.figure]
    low, high = (figure_text(sighting, end) for end in (found.low, found.high))
    seen = figure_text(sighting, found.seen)
    return f"{figure_words(sighting, figure)}: seen {seen}, expected {low} to {high}."


def _left_out_words(told: Told) -> str:
    """Which sources no mix of the inputs gives, and by how much?"""
    lesson = told.lesson
    odd = [one for one in lesson.any if not one.agrees]
    parts = [
        f"Left out: {name_of(lesson.sources[one.source].sightings)}, which no mix of the inputs gives. "
        f"{_off(told, one, one.source)}"
        for one in odd
    ]
    return " ".join(parts)


def name_of(sightings: Sequence[Sighting]) -> str:
    """What a source is called inside a sentence."""
    return "the splits" if sightings[0].kind == SPLITS else what_words(sightings[0])


def figure_words(sighting: Sighting, figure: str) -> str:
    """One figure of a sighting in words, at the head of a sentence."""
    place = " to ".join(place.replace(", apex", "") for place in sighting.place)
    kind = {
        SPLITS: f"Time at {place} that {figure} beat",
        SECTION: f"Time from {place} that {figure} beat",
        RATE: f"Runners a minute at {place}",
        ABREAST: f"Most abreast at {place}",
        THIRDS: f"Share in the {figure} third at {place}",
    }
    rest = {
        "starts": f"Gun to start mat that {figure} beat",
        "gap": f"Gap at {place} that {figure} are below",
    }
    return kind.get(sighting.kind) or rest[sighting.kind]


def figure_text(sighting: Sighting, value: float) -> str:
    """A figure as it is said."""
    if sighting.kind == THIRDS:
        return f"{100 * max(0.0, value):.0f} %"
    if sighting.kind == RATE:
        return f"{value:.0f}"
    if sighting.kind == ABREAST:
        return f"{value:.1f}"
    return f"{value:.2f} s" if sighting.kind == "gap" else f"{value:.1f} s"


def listed(words: Sequence[str]) -> str:
    """One, two and three."""
    *most, last = words
    return f"{', '.join(most)} and {last}" if most else last


def learnt_rows(told: Told) -> list[list[str]]:
    """The inputs that were learnt anything of, before and after."""
    rows = [["figure", BEFORE, AFTER, "left of the range"]]
    for key in sorted(told.lesson.learnt_keys, key=told.share_left):
        unit = assumed_inputs()[key].unit
        cells = [between(*ends, unit) for ends in (told.before(key), told.after(key))]
        rows.append([INPUT_WORDS[key], *cells, percent(told.share_left(key))])
    return rows


def fit_rows(told: Told) -> list[list[str]]:
    """Every figure that was fed in: seen, at any inputs, and at what was learnt."""
    rows = [["what", "seen", "any inputs", "learnt inputs"]]
    lesson = told.lesson
    for number, source in enumerate(lesson.sources):
        for f, (sighting, name) in enumerate(source.figures):
            spreads = [lesson.figures[number][:, f]]
            spreads += [told.told[number][:, f]] if len(told.told) else []
            cells = [_spread(sighting, values) for values in spreads]
            cells += ["-"] * (2 - len(cells))
            seen = figure_text(sighting, source.seen[f])
            rows.append([figure_words(sighting, name), seen, *cells])
    return rows


def _spread(sighting: Sighting, values: Any) -> str:
    low, high = weighted_ends(values, np.full(len(values), 1.0 / len(values)))
    return f"{figure_text(sighting, low)} to {figure_text(sighting, high)}"


def fit_words(told: Told) -> str:
    """How many of the figures lie within nine of ten races at what was learnt?"""
    if not len(told.told):
        return ""
    inside = count = 0
    for source, values in zip(told.lesson.sources, told.told, strict=True):
        for f, seen in enumerate(source.seen):
            low, high = weighted_ends(values[:, f], np.full(len(values), 1.0 / len(values)))
            inside += low <= seen <= high
            count += 1
    return f"{inside} of {count} figures that you fed in lie within nine of ten new races at what was learnt."


def worth_rows(told: Told) -> list[list[str]]:
    """What to measure next, and what it would do."""
    rows = [["measure", "for", "now", "then"]]
    for worth in worth_it(told)[:MOST_NEXT]:
        cells = [f"{worth.now_s:.2f} s", f"{worth.then_s:.2f} s"]
        rows.append([what_words(worth.sighting), ANSWER_WORDS[worth.answer], *cells])
    return rows


def worth_it(told: Told) -> list[Worth]:
    """What narrows an answer so that it is seen."""
    return [one for one in told.worths if one.then_s <= (1 - LEAST_WORTH) * one.now_s]


def use_words(told: Told) -> str:
    """How the scenario takes over what was learnt; empty where there is nothing to take over."""
    if not told.lesson.is_learnt:
        return ""
    return (
        f"To use it in every command, put {told.file} beside the scenario and write under [inputs]: "
        f'learnt = "{told.file}"'
    )


def text_of(told: Told) -> str:
    """Everything as a terminal shows it."""
    parts = [sentence_of(told)]
    parts += [table_text(learnt_rows(told))] if told.lesson.is_learnt else []
    parts += [words for words in (fit_words(told), use_words(told)) if words]
    if len(rows := worth_rows(told)) > 1:
        parts.append(f"{NEXT}:\n{table_text(rows)}")
    return "\n\n".join(parts)
