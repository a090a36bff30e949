"""The report card in words: the verdict, what is missed and why, and what every question is about."""

from __future__ import annotations

from collections.abc import Sequence

from simrun.answers.evidence.check_kinds import Check
from simrun.answers.evidence.experiments.audit import Section
from simrun.answers.evidence.experiments.corner import Flip
from simrun.answers.evidence.experiments.sensitivity import Sensitivity
from simrun.pages.cautions import CAUTION
from simrun.pages.sure_words import hangs_words
from simrun.pages.text import table_text

SUBJECT = "How far to trust it"

ABOUT = (
    "The same kernel as in a race, put into small worlds whose answer is published or can be computed. "
    "Figures that the model uses are not held against themselves: inputs and checks are kept apart."
)

LEAN_ON = (
    "Absolute losses move by a factor of two with the assumed inputs. Lean on signs and orderings."
)

HOW_TO_READ = "How to read the tables"
STRENGTHS = (
    "A, exact: within numerical tolerance, or 5 % where bodies stand for a fluid.",
    "B, measured: within the published band.",
    "C, sign: the whole 95 % interval over paired seeds lies on the right side.",
    "How we know a published figure stands after its source: seen (read in a public copy), memory (quoted, "
    "not read again), computed (follows from geometry or algebra), common practice (a rule of the trade).",
)

MISSED = "What is missed"
CAUSES = "What in the model causes it"
UNKNOWN_CAUSE = "-"


def effort_words(quick: bool) -> str:
    """How much was run for this page?"""
    return "Quick page: few seeds, sensitivity left out." if quick else "Full page: all seeds."


def sentence_of(rows: Sequence[Check]) -> str:
    """How many figures are met, and how many are missed."""
    met = sum(row.met for row in rows)
    if met == len(rows):
        return f"The model meets every figure that it is held against, {met} of {met}."
    missed = len(rows) - met
    return f"The model meets {met} of the {len(rows)} figures that it is held against and misses {missed}."


def text_of(rows: Sequence[Check]) -> str:
    """The sentence, what is missed and why, and the standing caution."""
    parts = [sentence_of(rows)]
    if any(not row.met for row in rows):
        parts.append(f"{MISSED}\n{table_text(missed_rows(rows))}")
    if causes_of(rows):
        parts.append("\n".join([CAUSES, *cause_words(rows)]))
    return "\n\n".join([*parts, CAUTION])


def missed_rows(rows: Sequence[Check]) -> list[list[str]]:
    """A row a miss, its head first; causes by their number."""
    causes = causes_of(rows)
    table = [["what", "model", "published", "cause"]]
    for row in rows:
        if not row.met:
            cause = str(causes.index(row.cause) + 1) if row.cause else UNKNOWN_CAUSE
            table.append([row.name, number_words(row), row.band_text, cause])
    return table


def causes_of(rows: Sequence[Check]) -> list[str]:
    """Every cause of a miss once, in the order in which it is met."""
    return list(dict.fromkeys(row.cause for row in rows if row.cause and not row.met))


def cause_words(rows: Sequence[Check]) -> tuple[str, ...]:
    """The causes, numbered as in the tables."""
    return tuple(
        f"Cause {number}: {cause[0].upper()}{cause[1:]}."
        for number, cause in enumerate(causes_of(rows), start=1)
    )


def check_table(rows: Sequence[Check], causes: Sequence[str]) -> list[list[str]]:
    """A row a check, its head first. causes: of all checks on the page, in the order of their numbers."""
    table = [["what", "verdict", "model", "band", "kind", "source, and how we know it"]]
    for row in rows:
        what = f"{row.name} ({row.note})" if row.note else row.name
        verdict = "met" if row.met else f"missed{_see(row, causes)}"
        table.append([what, verdict, number_words(row), row.band_text, row.strength, row.source])
    return table


def _see(row: Check, causes: Sequence[str]) -> str:
    """Which of the causes makes this row miss?"""
    return f" (cause {causes.index(row.cause) + 1})" if row.cause in causes else ""


def number_words(row: Check) -> str:
    """What was measured, with half of its interval where it has one."""
    size = abs(row.measured)
    whole, near_one = row.measured == round(row.measured), 0.99 < size < 1
    digits = 0 if whole else 4 if size < 0.1 or near_one else 3 if size < 2 else 2
    reach = f" ± {row.reach:.2f}" if row.reach else ""
    return f"{row.measured:.{digits}f}{reach} {row.unit}".rstrip()


CORRIDOR = "How many runners get along a corridor?"
CORRIDOR_WORDS = ("A straight corridor 4 m wide, closed upon itself, and a wished speed of 5 m/s.",)
RUNNERS_ALT = "Flow and mean speed of runners against density, with the published band of flow"

WALKERS = "How fast is a crowd of walkers?"
WALKERS_WORDS = (
    "The same corridor with the settings of walkers, which serve this comparison only: most of the crowds "
    "that were measured walked.",
)
WALKERS_ALT = "Mean speed of walkers against density, model and published values"

NARROWING = "How many get through a narrowing?"
NARROWING_WORDS = ("Counted between the first and the last fifth of the crowd.",)
CROWDS = ("runners behind a funnel", "walkers before an opening")
WIDTHS_ALT = "Flow against width for runners and walkers, with the published bands"

QUEUE = "Who loses what when all come at once?"
QUEUE_WORDS = ("Each thin line is one seed: 600 people before an opening of 6 m.",)
QUEUE_ALT = "Persons through against time and seconds lost by rank, with the straight line"

TURN = "Inside or outside at a sharp turn?"
TURN_WORDS = (
    "A line of 60 m, a funnel to 12 m, a sharp turn after 310 m. Four teams in the middle are told their "
    "line, two inside and two outside, then the other way round. Bars are 95 % intervals over seeds.",
    "The answer depends on what the others do: their share on the inside is the decisive unknown.",
)
FLIP_ALT = "Exit time inside minus outside against the share of the field that hugs the inside"

ELSE = "What else must come out?"

VARIED = "Which assumptions decide?"
AUDIT = "Does the crowd cost what a queue costs?"


def audit_words(audit: Sequence[Section]) -> tuple[str, ...]:
    """What the queue audit compares, how many sections agree, and who is left out."""
    missing = {section.scenario: int(section.left_out.sum()) for section in audit}
    met = sum(section.meets_published for section in audit)
    own = sum(section.meets_own for section in audit)
    return (
        f"Races per scenario: {len(audit[0].delay_s)}. Traffic on each section: the mean of the first, "
        "middle and last third as they leave it. Queue: the middle third's delay, first come, first served, "
        "at 2.53 and at 1.70 runners a second and metre of the narrowest width (Peckover, Raineri and "
        "Scanlan 2022), and at the capacity that the section itself showed while it was saturated.",
        f"In {met} of {len(audit)} sections the middle third lies between the published queues, in {own} "
        "about the queue at the section's own capacity: within 30 % and 1 s, which is our reading.",
        "Runners who did not get through a section are left out of its means; to the end of the courses they "
        f"are {sum(missing.values())} in all.",
    )


VARIED_LEFT_OUT = "Left out of the quick page; the full one has it."
VARIED_ALT = "Shares of variance of the decisive inputs"


def flip_words(seen: Flip) -> tuple[str, ...]:
    """From which share on is the outside faster, field by field?"""
    flips = [(size, seen.flips_at(number)) for number, size in enumerate(seen.runners)]
    return tuple(
        f"{size:g} runners: the sign changes at about {100 * share:.0f} %."
        if share == share
        else f"{size:g} runners: the sign does not change."
        for size, share in flips
    )


def varied_words(varied: Sensitivity) -> tuple[str, ...]:
    """What the races showed: ranges, what holds everywhere, what flips, what each answer hangs on."""
    low, high = varied.outcome.min(axis=0), varied.outcome.max(axis=0)
    count, inputs = varied.point.shape
    spread, _, outer = (f"{low[o]:.1f} to {high[o]:.1f} s" for o in range(3))
    flips = [
        f"{100 * varied.positive_share(1, 'line.inside_share', a, b):.0f} % of the points with "
        f"{100 * a:.0f} to {100 * b:.0f} % of the field inside"
        for a, b in ((0.3, 0.5), (0.5, 0.7), (0.7, 0.95))
    ]
    holds = "holds at every point" if low[2] > 0 else "does not hold everywhere"
    return (
        f"{inputs} assumed inputs were moved over their whole ranges, in groups, at {count} points, with 168 "
        "runners.",
        f"That the outermost boxes lose time at the throat {holds} ({outer}). The spread between boxes "
        f"is {spread}.",
        f"Inside or outside flips: the outside is faster at {', '.join(flips)}.",
        *(
            hangs_words(words, effects)
            for words, effects in zip(HANGS, varied.effects, strict=True)
        ),
        f"Shares of variance come from the races themselves, {varied.rows} seeds with the same people at "
        "eleven points each. So few give the order of the longest bars, not their length.",
    )


HANGS = (
    "How far apart the boxes lie",
    "Inside or outside",
    "What the outermost boxes lose",
)
