"""Which experiments answer which question on the page, and which picture goes with them?"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from simrun.answers.evidence import charts as charts
from simrun.answers.evidence import words as words
from simrun.answers.evidence.check_kinds import Check
from simrun.answers.evidence.check_rows import WALKER_DENSITIES
from simrun.answers.evidence.checks import group
from simrun.answers.evidence.experiments.audit import Section as Audited
from simrun.answers.evidence.experiments.audit import audit_cells
from simrun.answers.evidence.experiments.sensitivity import OUTCOMES, Sensitivity
from simrun.pages.page import Figure, Table, table_of
from simrun.sources import figure

Found = Mapping[str, Any]
Draw = Callable[[Found], Figure]


@dataclass(frozen=True)
class Section:
    """One question: its words, the experiments that answer it, and its picture, where it has one."""

    title: str
    words: tuple[str, ...]
    experiments: tuple[str, ...]
    draw: Draw | None = None


@dataclass(frozen=True)
class Shown:
    """One question as it is shown: words, rows, picture."""

    title: str
    words: tuple[str, ...]
    rows: Sequence[Check] = ()
    figures: tuple[Figure, ...] = ()
    tables: tuple[Table, ...] = ()


def audit_section(audit: Sequence[Audited]) -> Shown:
    """What does every section of the shipped scenarios cost, beside what queue theory allows?"""
    return Shown(words.AUDIT, words.audit_words(audit), tables=(table_of(audit_cells(audit)),))


def section_of(section: Section, found: Found) -> Shown:
    """A question with the rows of its experiments and its picture."""
    rows = tuple(row for name in section.experiments for row in group(name).judge(found[name]))
    told = section.words
    if "inside or outside" in section.experiments:
        told = (*told, *words.flip_words(found["inside or outside"]))
    drawn = () if section.draw is None else (section.draw(found),)
    return Shown(section.title, told, rows, drawn)


def varied_section(varied: Sensitivity | None) -> Shown:
    """Which assumed inputs decide, and which conclusion holds over their whole ranges?"""
    if varied is None:
        return Shown(words.VARIED, (words.VARIED_LEFT_OUT,))
    picture = charts.shares_chart(
        OUTCOMES,
        [[effect.name for effect in each] for each in varied.effects],
        [np.array([max(0.0, effect.alone) for effect in each]) for each in varied.effects],
        [np.array([min(1.0, effect.total) for effect in each]) for each in varied.effects],
    )
    return Shown(words.VARIED, words.varied_words(varied), (), (Figure(picture, words.VARIED_ALT),))


def _band(key: str) -> tuple[float, float]:
    return figure(key).low, figure(key).high


def _runners(found: Found) -> Figure:
    seen = found["runners in a corridor"]
    band = _band("crowd.runners_flow_per_s_m")
    picture = charts.runners_chart(seen.density_per_m2, seen.speed_m_s, seen.wished_m_s, band)
    return Figure(picture, words.RUNNERS_ALT)


def _walkers(found: Found) -> Figure:
    seen = found["walkers in a corridor"]
    published = [figure(WALKER_DENSITIES[density]) for density in seen.density_per_m2]
    value, low, high = (
        np.array([getattr(f, e) for f in published]) for e in ("value", "low", "high")
    )
    picture = charts.walkers_chart(seen.density_per_m2, seen.speed_m_s, value, low, high)
    return Figure(picture, words.WALKERS_ALT)


def _widths(found: Found) -> Figure:
    seen = [found["runners at a throat"], found["walkers at a bottleneck"]]
    bands = [_band("crowd.runners_flow_per_s_m"), _band("crowd.walkers_bottleneck_per_s_m")]
    widths, flows = [s.width_m for s in seen], [s.flow_per_s for s in seen]
    return Figure(charts.width_chart(words.CROWDS, widths, flows, bands), words.WIDTHS_ALT)


def _queue(found: Found) -> Figure:
    seen = found["all at once"]
    return Figure(charts.queue_chart(seen.loss_s, seen.law_s), words.QUEUE_ALT)


def _flip(found: Found) -> Figure:
    seen = found["inside or outside"]
    picture = charts.flip_chart(seen.runners, seen.share, seen.mean_s, seen.reach_s)
    return Figure(picture, words.FLIP_ALT)


SECTIONS: tuple[Section, ...] = (
    Section(words.CORRIDOR, words.CORRIDOR_WORDS, ("runners in a corridor",), _runners),
    Section(words.WALKERS, words.WALKERS_WORDS, ("walkers in a corridor",), _walkers),
    Section(
        words.NARROWING,
        words.NARROWING_WORDS,
        ("runners at a throat", "walkers at a bottleneck", "half closed"),
        _widths,
    ),
    Section(
        words.QUEUE,
        words.QUEUE_WORDS,
        ("all at once", "exchanged", "closed forms", "even start", "open data"),
        _queue,
    ),
    Section(words.TURN, words.TURN_WORDS, ("inside or outside",), _flip),
    Section(
        words.ELSE,
        (),
        (
            "start wave",
            "single file",
            "own times",
            "twenty round a corner",
            "corner sides",
            "wider or longer",
            "dispersion",
        ),
    ),
)
