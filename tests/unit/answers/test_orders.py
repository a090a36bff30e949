"""One runner's orders as they are read out: edges, as you like, flat out, and why one of them surprises."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from simrun.answers.tactic.order_words import (
    flat_out_words,
    line_parts,
    order_words,
    split_ends,
    why_words,
)
from simrun.answers.tactic.runner_orders import RunnerOrder, _band, _is_flat_out
from simrun.answers.tactic.search.choices import Choice
from simrun.answers.tactic.tactic_found import STAGES, Rivals
from simrun.answers.tactic.words import rivals_sentence

YANN = RunnerOrder(
    runner="Yann",
    row=2,
    file=0,
    abreast=3,
    stake="200 m stake",
    told_s=33.2,
    low_s=32.4,
    high_s=34.1,
    harder=0.12,
    harder_low=0.09,
    harder_high=0.15,
    as_you_like=False,
    calmest=False,
    hardest=False,
    flat_out=False,
    at_limit=False,
    crowd_low_s=33.9,
    crowd_high_s=36.2,
    gate="gate",
    gate_low=12.0,
    gate_high=20.0,
    finish_low=10.0,
    finish_high=18.0,
    told_traffic_s=1.2,
    calm_traffic_s=2.4,
    surprises=True,
    lines={"corner": "inside", "mill turn": "middle"},
    as_good=("mill turn",),
    sit="boardwalk",
    go="water tower",
)
MARA = replace(
    YANN,
    runner="Mara",
    row=1,
    file=1,
    harder=0.03,
    harder_low=0.0,
    harder_high=0.05,
    told_traffic_s=0.3,
    calm_traffic_s=0.4,
    surprises=False,
)


def test_orders_are_one_line() -> None:
    """The example of a coach, and a turn that is as you like is not in it."""
    assert order_words(YANN) == (
        "Yann: 33 s at the 200 m stake (32 to 34 s is as good), inside at the corner, 12th to 20th at the "
        "gate, sit on the boardwalk, go at the water tower."
    )


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"low_s": 33.2, "high_s": 33.2}, "33 s at the 200 m stake"),
        (
            {"hardest": True},
            "33 s at the 200 m stake (32 to 34 s is as good; nothing faster was tried)",
        ),
        (
            {"calmest": True},
            "33 s at the 200 m stake (32 to 34 s is as good; nothing calmer was tried)",
        ),
        (
            {"hardest": True, "flat_out": True, "low_s": 33.2},
            "33 s at the 200 m stake, flat out (33 to 34 s is as good)",
        ),
        (
            {"hardest": True, "at_limit": True},
            "33 s at the 200 m stake (32 to 34 s is as good; 32 s is flat out)",
        ),
        ({"as_you_like": True}, "as you like to the 200 m stake, 32 to 34 s were tried"),
        ({"told_s": float("nan")}, ""),
    ],
)
def test_the_seconds_say_where_the_search_ends(changes: dict[str, object], words: str) -> None:
    said = order_words(replace(YANN, lines={}, sit="", go="", **changes))  # type: ignore[arg-type]
    rest = "12th to 20th at the gate" + (" after 33 s" if "as_you_like" in changes else "")
    assert said == f"Yann: {words}, {rest}." if words else said == f"Yann: {rest}."


def test_moves_that_cannot_be_told_apart_are_not_ordered() -> None:
    assert "sit" not in order_words(replace(YANN, as_good=(STAGES,)))
    assert line_parts({"a": "inside", "b": "inside"}, ()) == ["inside at every turn"]
    assert line_parts({"a": "inside"}, ()) == ["inside at the a"]


def test_flat_out_says_what_it_rests_on() -> None:
    """Only where somebody is told to go flat out; what is as you like orders nothing."""
    flat = replace(YANN, flat_out=True)
    assert flat_out_words([YANN, flat], "440 yd").startswith("Flat out is as fast as")
    assert "Over 440 yd it came out ahead; " in flat_out_words([flat], "440 yd")
    assert flat_out_words([YANN, replace(flat, as_you_like=True)], "440 yd") == ""


def test_short_seconds_are_told_to_a_tenth() -> None:
    assert split_ends(13.44, 27.0) == "13.4 to 27.0 s"
    assert split_ends(23.44, 27.0) == "23 to 27 s"
    assert split_ends(33.2, 33.4) == "33 s"


def test_an_order_that_surprises_says_why() -> None:
    """Held up in the crowd; not to be told from the other's; or nothing that was measured."""
    (crowd,) = why_words([YANN, MARA], MARA)
    assert crowd == (
        "Why Yann is told to open harder than Mara: in row 2 with the left neighbor's box beside, and held "
        "up 2.4 s by the gate after a calm opening, 1.2 s after this one; Mara, in the front row, 0.4 and "
        "0.3 s."
    )
    (either,) = why_words([replace(YANN, harder_low=0.04)], MARA)
    assert either.endswith("these races cannot tell it from opening as Mara does; either will do.")
    (nothing,) = why_words([replace(YANN, calm_traffic_s=1.2)], MARA)
    assert "the crowd does not say why" in nothing
    assert why_words([MARA], MARA) == []


def test_what_is_as_good_has_no_gap() -> None:
    """The openings next to the chosen one; one beyond a clearly worse one is not in the range."""
    later = dict.fromkeys((0.0, 0.06, 0.18, 0.24))
    p_value = {0.0: 1.0, 0.06: 0.001, 0.18: 0.5, 0.24: 0.001}
    worse = SimpleNamespace(mean=1.0)
    choice = Choice(0.12, dict.fromkeys(later, worse), p_value)  # type: ignore[arg-type]
    assert _band(choice) == (0.12, 0.18)


def test_flat_out_is_what_a_body_can_do() -> None:
    """The last two orders come to the same seconds, and so does the chosen one."""
    assert _is_flat_out({0.0: 40.0, 0.3: 31.0, 0.36: 30.95, 0.4: 30.95}, 0.3)
    assert not _is_flat_out({0.0: 40.0, 0.3: 31.0, 0.36: 30.0, 0.4: 29.0}, 0.4)
    assert not _is_flat_out({0.0: 40.0, 0.3: 31.0, 0.36: 30.95, 0.4: 30.95}, 0.0)


def test_the_others_opening_stands_in_the_sentence() -> None:
    """It changes nothing, or what it changes."""
    rivals = {-0.05: Rivals(37.2, 4, 0.12, False), 0.05: Rivals(33.0, 4, 0.24, False)}
    found = SimpleNamespace(
        rivals=rivals,
        marks=["200 m stake"],
        stake=0,
        splits_s={0.12: np.array([33.0, 36.0]), 0.24: np.array([30.0, 33.0])},
    )
    assert rivals_sentence(found) == (  # type: ignore[arg-type]
        "That holds whether the others' middle runner is at the 200 m stake in 33 to 37 s, as far as these "
        "races can tell."
    )
    rivals[0.05] = replace(rivals[0.05], differs=True)
    assert rivals_sentence(found) == (  # type: ignore[arg-type]
        "It hangs on the others' opening: with their middle runner there in 33 s, ours do better in 30 to "
        "33 s."
    )
