"""The course inspection as a director reads it: lengths, widths, boxes, and what books say of them."""

from __future__ import annotations

import math
import textwrap

from simrun.base.units import length_text
from simrun.measure.inspection import PASSING_M, Inspection
from simrun.measure.wheel import GroundReport
from simrun.pages.cautions import CAUTION
from simrun.pages.text import table_text
from simrun.sources.guidance import Guidance

COLUMNS = 96


def ground_page(report: GroundReport, units: str, inspection: str = "") -> str:
    """The course on one page: lengths, distances, widths, and the extra metres of every box."""
    facts = [["measured line (0.30 m off the edges)", length_text(report.length_m, units)]]
    shortest = report.length_m
    for choice, metres in report.lines_m.items():
        facts.append(
            [f"  every turn {choice}", f"{length_text(metres, units)} ({metres - shortest:+.1f} m)"]
        )
    facts.append(["start line", length_text(report.start_width_m, units)])
    facts.append(["bow of the line", length_text(report.bow_m, units)])
    facts.append(
        ["front line per front-row runner", length_text(report.front_line_per_runner_m, units)]
    )
    for what, found in (
        ("first narrowing", report.first_narrowing),
        ("first turn", report.first_turn),
    ):
        where = f"{length_text(found[1], units)} ({found[0]})" if found else "none"
        facts.append([what, where])
    width, at = report.narrowest_m
    facts.append(["narrowest", f"{length_text(width, units)} wide at {length_text(at, units)}"])
    if report.tightest_turn:
        name, radius = report.tightest_turn
        facts.append(["tightest turn", f"{name}, inside radius {length_text(radius, units)}"])
    for name, at in report.checkpoints:
        facts.append([f"checkpoint {name}", length_text(at, units)])
    boxes = [["box", "team", f"extra m to {report.first_gate}", "extra m to the finish"]]
    for box in report.boxes:
        boxes.append(
            [str(box.box), box.team, f"{box.to_first_gate_m:.2f}", f"{box.to_finish_m:.2f}"]
        )
    facts_text = table_text([["course", ""], *facts], left=2)
    parts = [report.name, facts_text, table_text(boxes, left=2), inspection, CAUTION]
    return "\n\n".join(part for part in parts if part)


def inspection_text(found: Inspection, units: str) -> str:
    """The inspection as a director reads it on a terminal."""
    lines = [
        "Held against books and guidance (below, within, above: it reports, it does not approve)"
    ]
    for finding in found.findings:
        value = _value_text(finding.value, finding.unit, units)
        lines.append(f"\n{finding.what}: {value} {finding.where}".rstrip())
        lines += [f"    {_said_text(said, finding.value, units)}" for said in finding.said]
    lines.append("\nlength of the measured line, by how far off the edges it is taken")
    lines += [f"    {length_text(metres, units):>8}  {words}" for words, metres in found.lengths_m]
    lines.append(f"\nnarrower than {length_text(PASSING_M, units)}, where passing gets hard")
    for name, first, last, width in found.narrow:
        where = f"{length_text(first, units)} to {length_text(last, units)}"
        lines.append(f"    {name}: {length_text(width, units)} wide, {where}")
    if not found.narrow:
        lines.append("    nowhere")
    return "\n".join(lines)


def _value_text(value: float, unit: str, units: str) -> str:
    if math.isnan(value):
        return ""
    if unit == "m":
        return length_text(value, units)
    return f"{value:.0f} %" if unit == "%" else f"{value:.0f}"


def _said_text(said: Guidance, value: float, units: str) -> str:
    """The saying with where the course stands, whose it is and how it is known."""
    ends = [
        _value_text(end, said.unit, units) for end in (said.low, said.high) if math.isfinite(end)
    ]
    if len(ends) == 2:
        bounds = f"{ends[0]} to {ends[1]}"
    else:
        bounds = f"{'at least' if math.isfinite(said.low) else 'at most'} {ends[0]}"
    stands = "-" if math.isnan(value) else said.stands(value)
    text = f"{stands:6}  {bounds}: {said.says} ({said.who}; {said.known})"
    return textwrap.fill(text, COLUMNS, subsequent_indent=" " * 12)
