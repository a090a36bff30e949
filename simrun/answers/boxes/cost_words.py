"""What a box costs, as one sentence a question: whoever stands in it, and us as drawn today."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from simrun.answers.boxes.ours_elsewhere import OursElsewhere
from simrun.answers.boxes.pairs import Pairs
from simrun.answers.boxes.sample import ANY_LINE, Sample, our_box
from simrun.measure.finish import reaches_finish
from simrun.pages.numbers import NOTHING_SEEN, ends, tenths, the_mark, whole, whole_ends
from simrun.pages.sure_words import turned_round
from simrun.scenario.scenario import Scenario
from simrun.trials.statistics import Estimate
from simrun.trials.stopping import Settled

if TYPE_CHECKING:
    import pandas


@dataclass(frozen=True)
class Told:
    """What there is to tell: the day, samples and their tables by question. mark: where the start is told."""

    day: Scenario
    samples: tuple[Sample, ...]
    cells: tuple[pandas.DataFrame, ...]
    mark: str
    ours: OursElsewhere | None
    settled: Settled | None
    units: str

    @property
    def last(self) -> str:
        """The mark at which the races end."""
        return self.samples[0].checkpoints[-1]

    @property
    def our_box(self) -> int | None:
        """Which box is ours on paper, if any?"""
        return our_box(self.day)

    @property
    def at_mark(self) -> pandas.DataFrame:
        """The boxes where the start is told."""
        return at(self.cells[0], self.mark)

    @property
    def at_last(self) -> pandas.DataFrame:
        """The boxes at the last mark."""
        return at(self.cells[0], self.last)


def at(table: pandas.DataFrame, checkpoint: str, line: str = ANY_LINE) -> pandas.DataFrame:
    """The rows of one mark and line."""
    return table[(table.checkpoint == checkpoint) & (table.line == line)]


def sentence_of(told: Told) -> str:
    """What our box costs, then what today's draw does to us; without a box of ours, which boxes differ."""
    if told.our_box is None:
        first = [_differ(told), *_differ_later(told)]
    elif told.our_box not in told.samples[0].boxes:
        first = [f"Nobody drew box {told.our_box} in so few races.", *_ours_words(told)]
    else:
        first = [_box_words(told, told.our_box) + _settled_words(told.settled), *_ours_words(told)]
    return " ".join([*first, *_no_points_words(told)])


def _box_words(told: Told, box: int) -> str:
    """What our box costs, whoever stands in it."""
    sample = told.samples[0]
    seconds, places = sample.found(box, told.mark)
    found = (told.settled.found if told.settled else seconds, places)
    later = (sample.found(box, told.last)[0], sample.found_points(box))
    return _cost_words((told.mark, told.last), _whoever(box), found, later)


def _ours_words(told: Told) -> list[str]:
    """What today's draw does to us, if that was asked."""
    if told.ours is None:
        return []
    pairs = told.ours.pairs
    return [pairs_words(pairs, told.ours.box, told.mark)]


def pairs_words(pairs: Pairs, box: int, mark: str) -> str:
    """What our box costs us as drawn today: by this mark, and what the last mark says."""
    last = pairs.checkpoints[-1]
    later = (pairs.found(last)[0], pairs.found_points)
    return _cost_words((mark, last), _us(box), pairs.found(mark), later)


@dataclass(frozen=True)
class _Side:
    """Who is compared with what: "box 17 costs a team ... against the average box", and without a verb."""

    subject: str
    whom: str
    against: str
    plainly: str


def _whoever(box: int) -> _Side:
    return _Side(f"Box {box}", "a team", "the average box", f"Box {box} against the average box")


def _us(box: int) -> _Side:
    against = "our team in the other boxes"
    plainly = f"As drawn today, our team in box {box} against the other boxes"
    return _Side(f"As drawn today, box {box}", "us", against, plainly)


def _cost_words(
    marks: tuple[str, str],
    side: _Side,
    found: tuple[Estimate, Estimate],
    later: tuple[Estimate, Estimate],
) -> str:
    """One sentence: seconds and places by the first of the marks, then what the last one says."""
    by, end = f"by {the_mark(marks[0])}", _end_of(marks, *later)
    seen = [
        (sure.mean > 0, words)
        for sure, words in zip(
            found, (seconds_words(found[0]), places_words(found[1])), strict=True
        )
        if _is_told(sure, words)
    ]
    if not seen:
        by += _limits(found[0], tenths, " s", "less", turned_round(found[0]))
        if end and not end.said:
            return f"{side.plainly}: {NOTHING_SEEN}, neither {by} nor {end.where}{end.limits}."
        return f"{side.plainly}: {NOTHING_SEEN} {by}{_then(end)}."
    said = [f"{_verb(loses)} {side.whom} {words}" for loses, words in seen]
    if len({loses for loses, _ in seen}) == 1:
        said = [said[0], *(words for _, words in seen[1:])]
    return f"{side.subject} {' and '.join(said)} {by} against {side.against}{_then(end)}."


@dataclass(frozen=True)
class _End:
    """What the last mark says: where, what is seen there (or nothing), how large it may be if not."""

    where: str
    said: str
    limits: str


def _end_of(marks: tuple[str, str], seconds: Estimate, points: Estimate) -> _End | None:
    """Team points at the finish; else seconds where the races end; nothing where that is told already."""
    if points.count:
        words, limits = points_words(points), _limits(points, whole, "", "fewer")
        said = f"at the finish it {_verb(points.mean > 0)} {words}"
        where = "in team points at the finish"
        return _End(where, said if _is_told(points, words) else "", limits)
    mark, last = marks
    if last == mark:
        return None
    words, where = seconds_words(seconds), f"by {the_mark(last)}"
    said = f"{where} it {_verb(seconds.mean > 0)} {words}"
    limits = _limits(seconds, tenths, " s", "less")
    return _End(where, said if _is_told(seconds, words) else "", limits)


def _then(end: _End | None) -> str:
    """The last mark as the end of a sentence."""
    if end is None:
        return ""
    return f"; {end.said or f'{end.where} {NOTHING_SEEN}{end.limits}'}"


def _no_points_words(told: Told) -> list[str]:
    """Why there are no team points, where there are none."""
    if not told.at_last["cost_points"].isna().all():
        return []
    if not reaches_finish(told.day.strip):
        return ["No team points, because the races end before the finish."]
    if np.isnan(told.samples[0].points).all():
        return ["No team points, because no team had five at the finish."]
    return []


def _verb(loses: bool) -> str:
    return "costs" if loses else "saves"


def _limits(
    found: Estimate, number: Callable[[float], str], unit: str, less: str, more_said: str = ""
) -> str:
    """How large a difference may be that cannot be seen, and what more is to be said of that."""
    if not math.isfinite(found.low):
        return ""
    low, high = (
        f"{number(abs(end))}{unit} {'more' if end > 0 else less}" for end in (found.low, found.high)
    )
    return f" ({'; '.join(part for part in (f'{low} to {high}', more_said) if part)})"


def seconds_words(found: Estimate) -> str:
    """So many seconds with their interval, whichever way."""
    return f"{tenths(abs(found.mean))} s ({ends(*_sizes(found))})"


def places_words(found: Estimate) -> str:
    """So many places a runner."""
    number = whole(abs(found.mean))
    return f"{number} {'place' if number == '1' else 'places'} ({whole_ends(*_sizes(found))})"


def points_words(found: Estimate) -> str:
    """So many team points."""
    number = whole(abs(found.mean))
    return f"{number} {'point' if number == '1' else 'points'} ({whole_ends(*_sizes(found))})"


def _is_told(found: Estimate, words: str) -> bool:
    """Is it seen, and more than nothing once it is rounded?"""
    return found.is_seen and not words.startswith(("0 ", "0.0 "))


def _sizes(found: Estimate) -> tuple[float, float]:
    low, high = sorted((abs(found.low), abs(found.high)))
    return low, high


def _settled_words(settled: Settled | None) -> str:
    """That the races ended once it was clear, and that looking several times was paid for."""
    if settled is None:
        return ""
    races, looks = len(settled.values), settled.looks_taken
    return f" ({races} races, {looks} looks planned in advance.)"


def _differ(told: Told) -> str:
    """Which boxes differ in seconds by the first mark."""
    return _sides(told.at_mark, "cost_s", f"By {the_mark(told.mark)}", "in seconds")


def _differ_later(told: Told) -> list[str]:
    """Which boxes differ in team points at the finish, where there are any."""
    if told.at_last["cost_points"].isna().all():
        return []
    return [_sides(told.at_last, "cost_points", "At the finish", "in team points")]


def _sides(rows: pandas.DataFrame, name: str, when: str, what: str) -> str:
    """Which boxes cost more and which less than the average box, after every box has been looked at."""
    number = {"cost_s": tenths}.get(name, whole)
    seen = rows[[stands_out(row, name, number) for row in rows.to_dict("records")]]
    more, less = (seen[seen[name] * sign > 0]["box"].tolist() for sign in (1, -1))
    if not more and not less:
        return f"{when} no box can be told from the average box {what}."
    parts = [f"{_boxes(side)} {how}" for side, how in ((more, "more"), (less, "less")) if side]
    return f"{when} " + ", and ".join(parts) + f" than the average box {what}."


def _boxes(numbers: list[int]) -> str:
    """ "box 3 costs", "boxes 1, 2 and 24 cost"."""
    if len(numbers) == 1:
        return f"box {numbers[0]} costs"
    return f"boxes {', '.join(map(str, numbers[:-1]))} and {numbers[-1]} cost"


def stands_out(row: dict[Any, Any], name: str, number: Callable[[float], str]) -> bool:
    """Does a cost hold up after every box has been looked at, and is it more than nothing once rounded?"""
    return bool(row[f"{name}_holm"] < 0.05 and number(abs(row[name])).strip("0."))
