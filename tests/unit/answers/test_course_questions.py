"""The list of questions goes out and comes back as a spreadsheet saves it."""

from __future__ import annotations

from pathlib import Path

import pytest

from simrun.answers.course.questions import (
    BOXES,
    COURSE,
    LINE,
    Question,
    Told,
    answers_of,
    questions_text,
    value_of,
)
from simrun.base.errors import BadInput
from simrun.scenario.tables.values import RefusedError

ASKED = (
    Question(LINE, "How wide is the start line?", "0 m", (-20.5, -35.0), "40 m", "70 yd"),
    Question(BOXES, "How many boxes does the line have?", "0 m", (-20.5, -35.0), "20"),
    Question("width of stretch 2", "How wide is it?", "1 to 2 m", (-20.5, -35.0), "6 m", "4.5"),
)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_what_was_answered_comes_back(tmp_path: Path, encoding: str) -> None:
    (tmp_path / "a.csv").write_text(questions_text(ASKED).replace(",", ";"), encoding=encoding)
    told = Told({}, answers_of(tmp_path / "a.csv"))
    assert told.value(LINE, 40.0) == pytest.approx(70 * 0.9144)
    assert told.value(BOXES, 20) == 20
    assert told.stretches == {2: 4.5}
    assert not told.is_known(BOXES)


def test_an_option_goes_before_an_answer() -> None:
    told = Told({LINE: 50.0, COURSE: None}, {LINE: "70 m", COURSE: "5 m"})
    assert (told.value(LINE, 40.0), told.value(COURSE, 6.0)) == (50.0, 5.0)
    assert told.words(LINE, str) == "50.0"


@pytest.mark.parametrize(
    ("ask", "answer"),
    [(LINE, "0.1 m"), (LINE, "400"), (BOXES, "3.5"), (BOXES, "0"), ("width of stretch x", "6")],
)
def test_what_cannot_be_is_refused(ask: str, answer: str) -> None:
    with pytest.raises(RefusedError):
        value_of(ask, answer)


def test_every_mistake_is_told_at_once(tmp_path: Path) -> None:
    text = "ask,answer\nboxes,many\nwidth of the line,1 km\n"
    (tmp_path / "a.csv").write_text(text, encoding="utf-8")
    with pytest.raises(BadInput) as caught:
        answers_of(tmp_path / "a.csv")
    assert len(str(caught.value).splitlines()) == 2
