"""How far can the model be trusted? Every experiment carried out and written down on one page."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np

from simrun.answers.evidence import charts as charts
from simrun.answers.evidence.check_kinds import Check
from simrun.answers.evidence.check_rows import WALKER_DENSITIES
from simrun.answers.evidence.checks import GROUPS, group
from simrun.answers.evidence.experiments.sensitivity import OUTCOMES, Sensitivity, sensitivity
from simrun.answers.evidence.page import Part, evidence_page
from simrun.base.writing import ready_folder, write_text
from simrun.pages.text import CAUTION
from simrun.sources import figure

Progress = Callable[[float], None]
Found = Mapping[str, Any]

PAGE = "evidence.html"
POINTS = 64
"""Points of the sensitivity design, a power of two."""


def run_evidence(folder: str | Path, quick: bool = False, progress: Progress | None = None) -> Path:
    """Carry out every experiment and write evidence.html into `folder`; returns its path.

    quick leaves the sensitivity out and runs fewer seeds. progress is told the share that is done.
    Raises CannotWrite.
    """
    place = ready_folder(folder)
    told = progress or (lambda _: None)
    share = 1.0 if quick else 0.5
    found = run_groups(quick, lambda done: told(share * done))
    varied = None if quick else sensitivity(POINTS)
    path = write_text(place / PAGE, page_of(found, varied, quick))
    told(1.0)
    return path


def run_groups(quick: bool, told: Progress) -> dict[str, Any]:
    """What did every experiment give, by its name?"""
    found = {}
    for number, each in enumerate(GROUPS):
        found[each.name] = each.run(quick)
        told((number + 1) / len(GROUPS))
    return found


def page_of(found: Found, varied: Sensitivity | None, quick: bool) -> str:
    """The page as HTML."""
    parts = [
        Part(title, (*words, *flip_words(found, names)), rows_of(found, names), *draw(found))
        for title, words, names, draw in SECTIONS
    ]
    effort = "few seeds, sensitivity left out" if quick else "all seeds"
    words = (
        "The same kernel as in a race, put into small worlds whose answer is published or can be computed. "
        "Figures that the model uses are not held against themselves: inputs and checks are kept apart.",
        f"This page: {effort}. Absolute losses move by a factor of two with the assumed inputs; signs and "
        "orderings are what to lean on.",
    )
    return evidence_page("How far to trust it", words, [*parts, varied_part(varied)], CAUTION)


def flip_words(found: Found, names: tuple[str, ...]) -> tuple[str, ...]:
    """From which share on is the outside faster, field by field? Words for that part of the page only."""
    if "inside or outside" not in names:
        return ()
    seen = found["inside or outside"]
    flips = [(size, seen.flips_at(number)) for number, size in enumerate(seen.runners)]
    return tuple(
        f"{size:g} runners: the sign changes at about {100 * share:.0f} %."
        if share == share
        else f"{size:g} runners: the sign does not change."
        for size, share in flips
    )


def rows_of(found: Found, names: tuple[str, ...]) -> tuple[Check, ...]:
    """The rows of these experiments, in order."""
    return tuple(row for name in names for row in group(name).judge(found[name]))


Picture = tuple[bytes, str]


def _no_picture(_: Found) -> Picture:
    return b"", ""


def _band(key: str) -> tuple[float, float]:
    return figure(key).low, figure(key).high


def _runners(found: Found) -> Picture:
    seen = found["runners in a corridor"]
    band = _band("crowd.runners_flow_per_s_m")
    picture = charts.runners_chart(seen.density_per_m2, seen.speed_m_s, seen.wished_m_s, band)
    return (
        picture,
        "Flow and mean speed of runners against density, with the published band of flow",
    )


def _walkers(found: Found) -> Picture:
    seen = found["walkers in a corridor"]
    published = [figure(WALKER_DENSITIES[density]) for density in seen.density_per_m2]
    value, low, high = (
        np.array([getattr(f, e) for f in published]) for e in ("value", "low", "high")
    )
    picture = charts.walkers_chart(seen.density_per_m2, seen.speed_m_s, value, low, high)
    return picture, "Mean speed of walkers against density, model and published values"


def _widths(found: Found) -> Picture:
    seen = [found["runners at a throat"], found["walkers at a bottleneck"]]
    bands = [_band("crowd.runners_flow_per_s_m"), _band("crowd.walkers_bottleneck_per_s_m")]
    names = ("runners behind a funnel", "walkers before an opening")
    picture = charts.width_chart(
        names, [s.width_m for s in seen], [s.flow_per_s for s in seen], bands
    )
    return picture, "Flow against width for runners and walkers, with the published bands"


def _queue(found: Found) -> Picture:
    seen = found["all at once"]
    picture = charts.queue_chart(seen.loss_s, seen.law_s)
    return picture, "Persons through against time and seconds lost by rank, with the straight line"


def _flip(found: Found) -> Picture:
    seen = found["inside or outside"]
    picture = charts.flip_chart(seen.runners, seen.share, seen.mean_s, seen.reach_s)
    return (
        picture,
        "Exit time inside minus outside against the share of the field that hugs the inside",
    )


SECTIONS: tuple[tuple[str, tuple[str, ...], tuple[str, ...], Callable[[Found], Picture]], ...] = (
    (
        "How many runners get along a corridor?",
        ("A straight corridor 4 m wide, closed upon itself, a wished speed of 5 m/s.",),
        ("runners in a corridor",),
        _runners,
    ),
    (
        "How fast is a crowd of walkers?",
        (
            "The same corridor with the settings of walkers, which serve this comparison only: most "
            "published crowds walked.",
        ),
        ("walkers in a corridor",),
        _walkers,
    ),
    (
        "How many get through a narrowing?",
        ("Counted between the first and the last fifth of the crowd.",),
        ("runners at a throat", "walkers at a bottleneck", "half closed"),
        _widths,
    ),
    (
        "Who loses what when all come at once?",
        ("Each thin line is one seed: 600 people before an opening of 6 m.",),
        ("all at once", "exchanged", "closed forms", "open data"),
        _queue,
    ),
    (
        "Inside or outside at a sharp turn?",
        (
            "A line of 60 m, a funnel to 12 m, a sharp turn after 310 m. Four teams in the middle are told "
            "their line, two inside and two outside, then the other way round; bars are 95 % intervals "
            "over seeds.",
            "The answer depends on what the others do: that share is the decisive unknown.",
        ),
        ("inside or outside",),
        _flip,
    ),
    (
        "What else must come out?",
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
        _no_picture,
    ),
)


def varied_part(varied: Sensitivity | None) -> Part:
    """Which assumed inputs decide, and which conclusion holds over their whole ranges?"""
    title = "Which assumptions decide?"
    if varied is None:
        return Part(title, ("Left out of the quick page: run the full one.",))
    picture = charts.shares_chart(
        OUTCOMES,
        [[key for key, _, _ in varied.decisive(o, 6)] for o in range(3)],
        [np.array([first for _, first, _ in varied.decisive(o, 6)]) for o in range(3)],
        [np.array([total for _, _, total in varied.decisive(o, 6)]) for o in range(3)],
    )
    return Part(
        title, varied_words(varied), (), picture, "Shares of variance of the decisive inputs"
    )


def varied_words(varied: Sensitivity) -> tuple[str, ...]:
    """What the design showed, in words: ranges, what holds everywhere, what flips, how good the fit is."""
    low, high = varied.outcome.min(axis=0), varied.outcome.max(axis=0)
    count, inputs = varied.point.shape
    spread, _, outer = (f"{low[o]:.1f} to {high[o]:.1f} s" for o in range(3))
    flips = [
        f"{100 * varied.positive_share(1, 'line.inside_share', a, b):.0f} % of the points with "
        f"{100 * a:.0f} to {100 * b:.0f} % of the field inside"
        for a, b in ((0.3, 0.5), (0.5, 0.7), (0.7, 0.95))
    ]
    fit = ", ".join(f"{100 * share:.0f} %" for share in varied.fit)
    noise = ", ".join(f"{100 * share:.0f} %" for share in varied.noise)
    holds = "holds at every point" if low[2] > 0 else "does not hold everywhere"
    return (
        f"{inputs} assumed inputs moved over their whole ranges at once, {count} points, 168 runners.",
        f"That the outermost boxes lose time at the throat {holds} ({outer}). The spread between boxes "
        f"is {spread}.",
        f"Inside or outside flips: the outside is faster at {', '.join(flips)}.",
        f"The shares below are those of a polynomial fitted to the points. It predicts points left out "
        f"to {fit} of their variance; other people (seeds) alone make about {noise} of it. Trust the "
        "order of the longest bars, not their length.",
    )
