"""A walk through a course on one page: by chapters on a projector or a phone, as a hand-out on paper."""

from __future__ import annotations

import base64
import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any, Protocol

from markupsafe import Markup

from simrun.base.writing import write_text
from simrun.pages.frame import TEMPLATES, environment, hash_word
from simrun.pages.page import Part, Table

STYLES = ("page.css", "walk.css")
WORDS_A_MINUTE, LOOK_S = 130.0, 15.0
"""How fast a talk is read, and how long a team looks at the map, the picture and the five seconds of a slide
(assumed)."""

SCRIPTS = ("walk.js", "walk_film.js", "walk_eye.js", "walk_quiz.js")


class NameShown(Protocol):
    """A name on a map: its text, where its middle lies, and its spot."""

    @property
    def text(self) -> str: ...
    @property
    def x(self) -> float: ...
    @property
    def y(self) -> float: ...
    @property
    def spot(self) -> tuple[float, float]: ...


class MapShown(Protocol):
    """A piece of the course as outlines: box is left, top, width and height; edges by their kind."""

    @property
    def box(self) -> tuple[float, float, float, float]: ...
    @property
    def ground(self) -> str: ...
    @property
    def edges(self) -> dict[str, str]: ...
    @property
    def way(self) -> str: ...
    @property
    def arrow(self) -> str: ...
    @property
    def names(self) -> tuple[Any, ...]: ...
    @property
    def letter_m(self) -> float: ...


@dataclass(frozen=True)
class Said:
    """A sentence, and the figure and range behind it for who asks."""

    text: str
    more: str = ""


@dataclass(frozen=True)
class Shot:
    """A photograph inside the page: a JPEG, what it shows for who cannot see it, and a line below it.

    film: an MP4 without sound of which the JPEG is the first picture; empty for a photograph.
    """

    jpeg: bytes
    alt: str
    caption: str = ""
    film: bytes = b""

    @property
    def base64(self) -> str:
        """The picture as text."""
        return base64.b64encode(self.jpeg).decode()

    @property
    def film_base64(self) -> str:
        """The film as text; empty without one."""
        return base64.b64encode(self.film).decode()


@dataclass(frozen=True)
class Film:
    """A few seconds of a race on the chapter's map. data: numbers, fit for JSON; caption: what is shown."""

    data: Mapping[str, Any]
    caption: str


@dataclass(frozen=True)
class Slide:
    """One place or stretch as it is shown: where, what you see, what to do; where each of ours is to be.

    own: the coach's sentence, which stands in the place of `do`. coach: for the coach's eyes alone.
    """

    title: str
    where: str
    see: tuple[str, ...]
    do: tuple[Said, ...]
    also: tuple[Said, ...] = ()
    own: str = ""
    map: MapShown | None = None
    map_alt: str = ""
    ours: tuple[Table, ...] = ()
    shots: tuple[Shot, ...] = ()
    film: Film | None = None
    coach: str = ""
    eye_m: tuple[float, float] | None = None

    @property
    def talk_s(self) -> float:
        """How long does this slide take, what is said and noted of it read aloud?"""
        do = [self.own] if self.own else [said.text for said in self.do]
        words = " ".join([self.title, self.where, *self.see, *do, self.coach]).split()
        return LOOK_S + 60 * len(words) / WORDS_A_MINUTE


@dataclass(frozen=True)
class View:
    """A place with what is said there, and the view ahead from it: metres along the measured line."""

    title: str
    said: tuple[Said, ...]
    at_m: float


@dataclass(frozen=True)
class Question:
    """What a runner is asked on the phone: the answers to choose from, and which is right."""

    ask: str
    answers: tuple[str, ...]
    right: int


@dataclass(frozen=True)
class Walk:
    """The whole walk. to_go: what is left to go, with the view from
    there; after: what else follows the chapters. minutes: of the talk; None: as long as it takes to read.

    ground: the course for a ride along it, fit for JSON. scripts: what draws that ride.
    """

    title: str
    sentence: str
    chapters: tuple[Slide, ...]
    map: MapShown | None = None
    map_alt: str = ""
    about: str = ""
    to_go: tuple[View, ...] = ()
    to_go_notes: tuple[str, ...] = ()
    after: tuple[Part, ...] = ()
    quiz: tuple[Question, ...] = ()
    minutes: int | None = None
    notes: tuple[str, ...] = ()
    ground: Mapping[str, Any] = field(default_factory=dict)
    scripts: tuple[str, ...] = ()

    @property
    def talk_minutes(self) -> int:
        """How long is the talk? Whole minutes, never less than one."""
        if self.minutes is not None:
            return self.minutes
        return max(1, math.ceil(sum(slide.talk_s for slide in self.chapters) / 60))

    @cached_property
    def data(self) -> str:
        """Everything that the page plays or asks, as JSON that no name in it can break out of."""
        whole = {
            "minutes": self.talk_minutes,
            "films": [chapter.film and chapter.film.data for chapter in self.chapters],
            "eyes": [chapter.eye_m for chapter in self.chapters],
            "quiz": [[one.ask, one.answers, one.right] for one in self.quiz],
            "ground": self.ground,
        }
        text = json.dumps(whole, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
        return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def walk_html(walk: Walk) -> str:
    """The walk as one HTML text that needs no other file; only its own script runs.

    Check: tests/unit/pages/test_walk.py (hostile names stay words; the page's rules).
    """
    style = "\n".join(_template_text(name) for name in STYLES)
    script = _script(walk.scripts)
    made = environment()
    template = made.get_template("walk.html.j2")
    template.globals["parts"] = made.get_template("parts.html.j2").module
    return template.render(
        walk=walk,
        # Ours, not the scenario's: these are markup already, and the data hold no < > &.
        data=Markup(walk.data),
        style=Markup(style),
        script=Markup(script),
        style_hash=hash_word(style),
        script_hash=hash_word(script),
    )


def write_walk(walk: Walk, path: str | Path) -> Path:
    """Write it in one piece. Raises CannotWrite."""
    return write_text(path, walk_html(walk))


def _script(before: Sequence[str]) -> str:
    """All scripts as one that leaves no names behind."""
    parts = "\n".join([*before, *(_template_text(name) for name in SCRIPTS)])
    return f'(() => {{\n"use strict";\n{parts}\n}})();\n'


def _template_text(name: str) -> str:
    return (TEMPLATES / name).read_text("utf-8")
