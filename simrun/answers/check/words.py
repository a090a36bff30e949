"""The course inspection as a director reads it: lengths, widths, boxes, and what books say of them."""

from __future__ import annotations

import math
import textwrap
from dataclasses import dataclass

from simrun.answers.check.inspection import PASSING_M, Finding, Inspection
from simrun.base.units import length_text, more_text, short_unit
from simrun.measure.wheel import Aimed, GroundReport
from simrun.pages.cautions import CAUTION
from simrun.pages.numbers import DASH, percent, the_mark, whole
from simrun.pages.text import paragraphs, table_text
from simrun.sources.guidance import Guidance

COLUMNS = 96

BESIDE = "Beside books and guidance (below, within or above: it reports, it does not approve)"
LENGTHS = "Length of the measured line, by how far off the edges it is taken"
MAP_ALT = "The start line from above, each box colored by its extra way to the first gate"


@dataclass(frozen=True)
class Told:
    """What there is to tell: the report of the wheel and the tape, the inspection, the reader's units.

    aimed: the arc that would make the ways equal; None where there is none. is_asked: a gate was named.
    """

    report: GroundReport
    inspection: Inspection
    units: str
    aimed: Aimed | None = None
    is_asked: bool = False


def sentence_of(told: Told) -> str:
    """How long the course is, and how many figures lie outside what is said of them."""
    length = f"The measured line is {length_text(told.report.length_m, told.units)}"
    held = [f for f in told.inspection.findings if f.said and not math.isnan(f.value)]
    outside = sum(any(said.stands(f.value) != "within" for said in f.said) for f in held)
    if not outside:
        return f"{length}, and all {len(held)} figures are within what books and guidelines ask."
    verb = "falls" if outside == 1 else "fall"
    asked = "what at least one book or guideline asks"
    return f"{length}; {outside} of {len(held)} figures {verb} outside {asked}."


def title_of(told: Told) -> str:
    """What the map of the line shows."""
    return f"{told.report.name}: extra way to {told.report.first_gate}, by box"


def scale_words(told: Told) -> str:
    """What the colors of the map mean."""
    return f"extra {short_unit(told.units)[0]}"


def text_of(told: Told) -> str:
    """The sentence, the course, the boxes, the inspection and the caution."""
    return paragraphs(
        sentence_of(told),
        ground_text(told.report, told.units),
        aimed_words(told),
        inspection_text(told.inspection, told.units),
        CAUTION,
    )


def aimed_words(told: Told) -> str:
    """Which arc would make the way to the first gate equal for every box; empty where little is to be won."""
    found = told.aimed
    if found is None:
        return ""
    if found.now_m - found.then_m < WORTH_M:
        left = length_text(found.now_m, told.units)
        none = (
            f"No arc brings the boxes much closer together on the way to {the_mark(found.gate)}: "
        )
        return f"{none}the line as it is leaves {left} between them." if told.is_asked else ""
    turned = f", {turn_words(found.tilt_deg)}," if found.tilt_deg else ""
    now, then = (length_text(metres, told.units) for metres in (found.now_m, found.then_m))
    shown = f'"{found.gate}"' if " " in found.gate else found.gate
    tilt = f", tilt = {found.tilt_deg:g}" if found.tilt_deg else ""
    return (
        f"An arc about a point {length_text(found.aim_m, told.units)} ahead{turned} would leave {then} "
        f"between the boxes on the way to {the_mark(found.gate)}, where the line as it is leaves {now}. In "
        f'the scenario, under [start]: aim = "{found.gate}", found anew when the course changes; or in '
        f'figures, shape = "arc", aim = {found.aim_m:g}{tilt}. `simrun layout --aim {shown}` races it and '
        "says how it is staked out."
    )


def turn_words(tilt_deg: float) -> str:
    """How is the line turned? "turned 3.8 degrees to the left"."""
    return f"turned {abs(tilt_deg):.1f} degrees to the {'left' if tilt_deg > 0 else 'right'}"


NOT_NARROW = "none to less than half the start line"

WORTH_M = 0.2
"""Less than so much between the boxes is not worth another line (our own choice)."""


def ground_text(report: GroundReport, units: str) -> str:
    """The course: lengths, distances, widths, and the extra way from every box."""
    facts = [["course", ""], *fact_rows(report, units)]
    boxes = table_text(box_rows(report, units), left=2)
    return "\n\n".join([report.name, table_text(facts, left=2), boxes])


def fact_rows(report: GroundReport, units: str) -> list[list[str]]:
    """What the wheel and the tape say of the course."""

    def said(metres: float) -> str:
        return length_text(metres, units)

    facts = [["measured line (0.30 m off the edges)", said(report.length_m)]]
    for choice, metres in report.lines_m.items():
        more = more_text(metres - report.length_m, units)
        facts.append([f"  every turn {choice}", f"{said(metres)} ({more})"])
    facts.append(["start line", said(report.start_width_m)])
    if report.sideways_m:
        side = "left" if report.sideways_m > 0 else "right"
        aside = said(abs(report.sideways_m))
        facts.append(["  its middle", f"{aside} to the {side} of the middle of the ground"])
    facts.append(["bow of the line", said(report.bow_m)])
    if report.aimed_at:
        about = f"an arc about a point {said(report.aim_m or 0.0)} ahead"
        turned = f", {turn_words(report.tilt_deg)}" if report.tilt_deg else ""
        facts.append([f"  equal ways to {the_mark(report.aimed_at)}", f"{about}{turned}"])
    facts.append(["front line per front-row runner", said(report.front_line_per_runner_m)])
    firsts = {"first narrowing": report.first_narrowing, "first turn": report.first_turn}
    for what, found in firsts.items():
        facts.append([what, f"{said(found[1])} ({found[0]})" if found else "none"])
    if report.first_narrowing is None and report.first_gate != "finish":
        facts[-2][1] = NOT_NARROW
    width, at = report.narrowest_m
    facts.append(["narrowest", f"{said(width)} wide at {said(at)}"])
    if report.tightest_turn:
        name, radius = report.tightest_turn
        facts.append(["tightest turn", f"{name}, inside radius {said(radius)}"])
    if report.without_time:
        facts.append(["runners without a time in the entry list", f"{report.without_time}"])
    return facts + [[f"checkpoint {name}", said(at)] for name, at in report.checkpoints]


def box_rows(report: GroundReport, units: str) -> list[list[str]]:
    """A row a box: how much further it is than from the best one, also from the rows behind the front."""
    unit, metres_each = short_unit(units)
    behind = range(2, 2 + max((len(box.rows_behind_m) for box in report.boxes), default=0))
    head = [f"extra {unit} to {report.first_gate}", *(f"from row {row}" for row in behind)]
    rows = [["box", "team", *head, f"extra {unit} to the finish"]]
    for box in report.boxes:
        ways = (box.to_first_gate_m, *box.rows_behind_m, box.to_finish_m)
        rows.append([str(box.box), box.team, *(f"{way / metres_each:.2f}" for way in ways)])
    return rows


def inspection_text(found: Inspection, units: str) -> str:
    """The inspection as a director reads it on a terminal."""
    lines = [BESIDE]
    for finding in found.findings:
        lines.append(f"\n{finding.what}: {measured(finding, units)}".rstrip())
        lines += [f"    {_said_text(said, finding.value, units)}" for said in finding.said]
    lines.append(f"\n{LENGTHS}")
    lines += [f"    {metres:>8}  {words}" for words, metres in length_rows(found, units)]
    lines.append(f"\n{narrow_words(units)}")
    lines += [
        f"    {name}: {width} wide, {where}" for name, width, where in narrow_rows(found, units)
    ]
    if not found.narrow:
        lines.append("    nowhere")
    return "\n".join(lines)


def measured(finding: Finding, units: str) -> str:
    """What was measured, and where."""
    known = not math.isnan(finding.at_m)
    where = f"at {length_text(finding.at_m, units)}" if known else finding.where
    return f"{value_text(finding.value, finding.unit, units)} {where}".strip()


def value_text(value: float, unit: str, units: str) -> str:
    """A figure in its unit; nothing where there is none."""
    if math.isnan(value):
        return ""
    if unit == "m":
        return length_text(value, units)
    return percent(value / 100) if unit == "%" else whole(value)


def stands_text(said: Guidance, value: float) -> str:
    """Where does the course stand against a saying? "below", "within", "above"."""
    return DASH if math.isnan(value) else said.stands(value)


def bounds_text(said: Guidance, units: str) -> str:
    """What is asked, "at least 5.0 m" or "1.5 m to 3.0 m"."""
    ends = [
        value_text(end, said.unit, units) for end in (said.low, said.high) if math.isfinite(end)
    ]
    if len(ends) == 2:
        return f"{ends[0]} to {ends[1]}"
    return f"{'at least' if math.isfinite(said.low) else 'at most'} {ends[0]}"


def who_text(said: Guidance) -> str:
    """Whose saying is it, where does it stand, and how is it known?"""
    return said.source


def _said_text(said: Guidance, value: float, units: str) -> str:
    """The saying with where the course stands, whose it is and how it is known."""
    stands, asked = stands_text(said, value), bounds_text(said, units)
    text = f"{stands:6}  {asked}: {said.says} ({who_text(said)})"
    return textwrap.fill(text, COLUMNS, subsequent_indent=" " * 12, break_on_hyphens=False)


def guidance_rows(found: Inspection, units: str) -> list[list[str]]:
    """A row a saying: the figure, what was measured, where it stands, what is asked, by whom."""
    rows = [["figure", "measured", "stands", "asked", "what for", "who says so"]]
    for finding in found.findings:
        for number, said in enumerate(finding.said):
            first = ["", ""] if number else [finding.what, measured(finding, units) or "none"]
            asked = [stands_text(said, finding.value), bounds_text(said, units)]
            rows.append([*first, *asked, said.says, who_text(said)])
    return rows


def length_rows(found: Inspection, units: str) -> list[list[str]]:
    """The length by how far off the edges it is taken."""
    return [[words, length_text(metres, units)] for words, metres in found.lengths_m]


def narrow_words(units: str) -> str:
    """Over the stretches too narrow to pass."""
    return f"Narrower than {length_text(PASSING_M, units)}, where passing gets hard"


def narrow_rows(found: Inspection, units: str) -> list[list[str]]:
    """The stretches too narrow to pass: name, width, from where to where."""
    rows = []
    for name, first, last, width in found.narrow:
        where = f"{length_text(first, units)} to {length_text(last, units)}"
        rows.append([name, length_text(width, units), where])
    return rows
