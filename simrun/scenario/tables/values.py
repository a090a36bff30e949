"""What may stand at a key? Small checks of one value, each refusing in our own words."""

from __future__ import annotations

import datetime
import math
from dataclasses import dataclass

from simrun.base.errors import nearest_word

SHOWN_CHARACTERS = 40
LONGEST_NAME = 80


class RefusedError(ValueError):
    """A value that cannot stand where it stands: what was found, what is allowed, what is near."""

    def __init__(self, found: str, allowed: str, nearest: str = "") -> None:
        super().__init__(found)
        self.found, self.allowed, self.nearest = found, allowed, nearest


def shown(value: object) -> str:
    """How is a value that somebody wrote shown on one line, however odd or long it is?"""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _short_text(value)
    if isinstance(value, int):
        return str(value) if value.bit_length() <= 64 else "a number of more than 19 digits"
    if isinstance(value, float):
        return f"{value:g}"
    return _kind_of(value)


def _short_text(text: str) -> str:
    return repr(text if len(text) <= SHOWN_CHARACTERS else text[: SHOWN_CHARACTERS - 3] + "...")


def _kind_of(value: object) -> str:
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple):
        return "a list"
    if isinstance(value, datetime.date | datetime.time):
        return "a date or a time of day"
    return "nothing" if value is None else f"a value of type {type(value).__name__}"


def shown_key(text: str) -> str:
    """How is a key or a name shown inside a dotted key: on one line, cut when long?"""
    return _short_text(text)[1:-1]


def plain_number(value: object, allowed: str = "a number") -> float:
    """The finite number that `value` is; true and false are no numbers."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise RefusedError(shown(value), allowed)
    if isinstance(value, int) and value.bit_length() > 64:
        raise RefusedError(shown(value), allowed)
    if not math.isfinite(value):
        raise RefusedError(shown(value), allowed)
    return float(value)


def within(value: float, low: float, high: float, wrong: RefusedError) -> float:
    """`value`, unless it lies outside low to high (both allowed)."""
    if not low <= value <= high:
        raise wrong
    return value


@dataclass(frozen=True)
class Number:
    """A plain number from low to high, both allowed."""

    low: float
    high: float

    def __call__(self, value: object) -> float:
        allowed = f"a number from {self.low:g} to {self.high:g}"
        number = plain_number(value, allowed)
        return within(number, self.low, self.high, RefusedError(shown(value), allowed))


@dataclass(frozen=True)
class Whole:
    """A whole number from low to high, both allowed."""

    low: int
    high: int

    def __call__(self, value: object) -> int:
        wrong = RefusedError(shown(value), f"a whole number from {self.low} to {self.high}")
        if isinstance(value, bool) or not isinstance(value, int):
            raise wrong
        if not self.low <= value <= self.high:
            raise wrong
        return value


@dataclass(frozen=True)
class OneOf:
    """One of a few words. meant: which of them is meant by another word of the same trade."""

    words: tuple[str, ...]
    meant: tuple[tuple[str, str], ...] = ()

    def __call__(self, value: object) -> str:
        if isinstance(value, str) and value in self.words:
            return value
        word = value[:LONGEST_NAME] if isinstance(value, str) else ""
        near = dict(self.meant).get(word.casefold()) or nearest_word(word, self.words)
        raise RefusedError(shown(value), "one of " + ", ".join(self.words), near)


@dataclass(frozen=True)
class Text:
    """Text on one line without control characters, from one to `longest` characters."""

    longest: int = LONGEST_NAME
    forbidden: str = ""

    def __call__(self, value: object) -> str:
        allowed = f"text of 1 to {self.longest} characters on one line"
        if self.forbidden:
            allowed += f", without {self.forbidden}"
        if not isinstance(value, str) or not value.strip() or not value.strip().isprintable():
            raise RefusedError(shown(value), allowed)
        if len(value.strip()) > self.longest or any(sign in value for sign in self.forbidden):
            raise RefusedError(shown(value), allowed)
        return value.strip()


def long_text(value: object) -> str:
    """Free text of several lines, at most 2000 characters."""
    if not isinstance(value, str) or len(value) > 2000:
        raise RefusedError(shown(value), "text of at most 2000 characters")
    return value


def flag(value: object) -> bool:
    """true or false, and nothing that merely looks like it."""
    if not isinstance(value, bool):
        raise RefusedError(shown(value), "true or false")
    return value


@dataclass(frozen=True)
class Many:
    """A list of at most `most` entries; what the entries are is checked afterwards."""

    most: int
    what: str

    def __call__(self, value: object) -> list[object]:
        if not isinstance(value, list):
            raise RefusedError(shown(value), f"a list of {self.what}")
        if len(value) > self.most:
            raise RefusedError(f"a list of {len(value)}", f"at most {self.most} {self.what}")
        return value


def same_name(text: str) -> str:
    """The form in which two names count as the same: without regard to case, accents composed."""
    import unicodedata

    return unicodedata.normalize("NFC", text).casefold().strip()
