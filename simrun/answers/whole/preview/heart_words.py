"""What is a team asked, to know the course by heart: what comes next, which side, how far to go?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from simrun.answers.sheet.words import length_text, the_mark
from simrun.answers.whole.preview.chapters import Chapter
from simrun.answers.whole.preview.words import inside_words, title_words
from simrun.pages.walk import Question

CHOICES = 3


def questions_of(chapters: Sequence[Chapter], length_m: float, units: str) -> tuple[Question, ...]:
    """Two or three for every place, in the order of the race; none whose answer another choice is too.

    Check: tests/journeys/test_preview.py.
    """
    asked = [
        *_what_next(chapters, units),
        *_how_far(chapters, length_m, units),
        *_which_side(chapters),
    ]
    ordered = sorted(asked, key=lambda each: each[0])
    return tuple(question for _, question in ordered)


def _what_next(chapters: Sequence[Chapter], units: str) -> Iterator[tuple[float, Question]]:
    titles = [title_words(chapter, units) for chapter in chapters]
    for k in range(len(chapters) - 1):
        others = [titles[j] for j in _others(k + 1, len(chapters)) if j != k]
        ask = f"What comes after {inside_words(chapters[k], units)}?"
        if (found := _question(ask, titles[k + 1], others, k)) is not None:
            yield chapters[k].mark.at_m, found


def _how_far(
    chapters: Sequence[Chapter], length_m: float, units: str
) -> Iterator[tuple[float, Question]]:
    far = [length_text(10 * round((length_m - c.mark.at_m) / 10), units) for c in chapters]
    for k, chapter in enumerate(chapters[:-1]):
        if k == 0:
            continue
        others = [far[j] for j in _others(k, len(chapters) - 1) if j > 0]
        ask = f"How far to go at {inside_words(chapter, units)}?"
        if (found := _question(ask, far[k], others, k + 1)) is not None:
            yield chapter.mark.at_m + 0.1, found


def _which_side(chapters: Sequence[Chapter]) -> Iterator[tuple[float, Question]]:
    for chapter in chapters:
        for bend in chapter.ahead.bends:
            ask = f"Which way does {the_mark(bend.name)} turn?"
            yield chapter.mark.at_m + 0.2, Question(ask, ("left", "right"), int(bend.side > 0))


def _others(right: int, count: int) -> list[int]:
    """The places nearest to one, the farther ones last."""
    return sorted((j for j in range(count) if j != right), key=lambda j: (abs(j - right), j))


def _question(ask: str, right: str, others: Sequence[str], turn: int) -> Question | None:
    """With the right answer now here, now there; None where there is no other to choose."""
    wrong = [text for text in dict.fromkeys(others) if text != right][: CHOICES - 1]
    if not wrong:
        return None
    at = turn % (len(wrong) + 1)
    return Question(ask, (*wrong[:at], right, *wrong[at:]), at)
