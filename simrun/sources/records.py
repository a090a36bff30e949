"""What do we write down about a number, and about the place it comes from?"""

from __future__ import annotations

from dataclasses import dataclass

KINDS = ("measured", "rule", "derived", "assumed")
ROLES = ("input", "check")
KNOWN = ("seen", "memory", "computed", "common practice", "assumed")


@dataclass(frozen=True)
class Reference:
    """One entry of the bibliography. A title in square brackets describes, it does not quote."""

    key: str
    authors: str
    year: str
    title: str
    published: str

    def __str__(self) -> str:
        return f"{self.authors} ({self.year}). {self.title}. {self.published}."


@dataclass(frozen=True)
class Figure:
    """One number: what it means, within which bounds, and where it comes from.

    unit: "" for a plain ratio or count. low, high: the published band of a check, the range to try
    of an input; equal to `value` where it is exact. place: where in the reference. kind: measured,
    rule, derived or assumed. role: input (the model uses it) or check (the model must reproduce
    it), never both. known: seen (read in a public copy), memory (quoted, not read again), computed
    (follows from geometry or algebra), common practice, or assumed (nothing published stands
    behind it).
    """

    key: str
    value: float
    unit: str
    low: float
    high: float
    meaning: str
    conditions: str
    reference: Reference
    place: str
    kind: str
    role: str
    known: str

    def holds(self, number: float) -> bool:
        """Does `number` lie within the band, ends included?"""
        return self.low <= number <= self.high

    def citation(self) -> str:
        """The source in one line, with the place in it and how we know."""
        place = f" {self.place}." if self.place else ""
        return f"{self.reference}{place} ({self.known})"

    def against(self, number: float) -> str:
        """What to say when `number` is held against this figure: value, band and source."""
        band = f"{self.low:g} to {self.high:g} {self.unit}".rstrip()
        return f"{self.key}: {number:g} against {self.value:g} ({band}); {self.citation()}"
