"""What every box costs, as a coach and a director read it: one table, two pictures, one page."""

from __future__ import annotations

import base64
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simrun.answers.boxes.run import ANY_LINE, EVERY_TEAM, Sample, best_cell, cells
from simrun.base.csv import write_csv
from simrun.base.units import length_text
from simrun.base.writing import write_text, written_beside
from simrun.pages.text import CAUTION, LEFT_OUT, tenths
from simrun.scenario.scenario import Scenario
from simrun.trials.statistics import NOTHING_SEEN, Best, Estimate, words
from simrun.trials.stopping import Settled

if TYPE_CHECKING:
    import pandas

MEANS = {
    EVERY_TEAM: "What a box costs in such a field: every team counts for the box it stands in; a line "
    "is each runner's own choice at the first turn. Where boxes are listed and not drawn by the seed, a "
    "box's figures are also those of the team that stands there, with its own tactics.",
    "our team": "What our box and our order would cost us: our team was put into every box in turn, "
    "told every line in turn, and who stood there took our box.",
}

READING = (
    "lost = box + line + traffic, against the same runner alone from the best box on the shortest line. "
    "The interval is where the long-run mean lies with 95 % confidence; 10 to 90 % is what eight of ten "
    "single runners met. Against the mean of all boxes the answer counts as seen only when it stays so "
    "after all boxes have been looked at (Holm's correction)."
)

STYLE = (
    "body{font:15px/1.45 sans-serif;color:#1f272b;max-width:76em;margin:2em auto;padding:0 1em}"
    "table{border-collapse:collapse;margin:.5em 0 1.5em}img{max-width:100%}"
    "th,td{padding:.15em .45em;text-align:right;white-space:nowrap;border-bottom:1px solid #bec5ba}"
    "th{white-space:normal;vertical-align:bottom}div.wide{overflow-x:auto}"
    "th{background:#f8f5eb}.ours{font-weight:bold}.note{color:#56626a}"
    "@media print{h2{break-before:page}}"
)


def write_all(
    samples: list[Sample], scenario: Scenario, folder: Path, settled: Settled | None = None
) -> list[Path]:
    """Write the table of all questions, chart and map of the first, and the page with everything.

    settled: what a study found that ended as soon as it was clear.
    """
    import pandas as pd

    from simrun.pictures.charts.box_charts import chart, png_of, start_map

    tables = [cells(sample, scenario) for sample in samples]
    written = [write_csv(pd.concat(tables, ignore_index=True), folder / "boxes.csv")]
    last = samples[0].checkpoints[-1]
    whole = _at(tables[0], last)
    title = f"{scenario.name}: at {last}, {len(samples[0].box)} races"
    bands = png_of(chart(whole, title, _our_box(scenario)))
    by_box = dict(zip(whole["box"].tolist(), whole["lost_s_mean"].tolist(), strict=True))
    start = png_of(start_map(scenario, by_box, title))
    for name, picture in (("boxes.png", bands), ("boxes_map.png", start)):
        with written_beside(folder / name) as beside:
            beside.write_bytes(picture)
        written.append(folder / name)
    page = page_html(samples, tables, scenario, [bands, start], settled)
    return [*written, write_text(folder / "boxes.html", page)]


def _settled_words(settled: Settled, checkpoint: str) -> str:
    """What our box costs by the last checkpoint, and that looking several times was paid for."""
    found = words(settled.found)
    return (
        f"Against the mean of all boxes, at {checkpoint}, ours loses: {found}. {len(settled.values)} races, "
        f"{settled.looks_taken} looks planned beforehand: over all of them a difference that is not there is "
        "claimed one time in twenty."
    )


def _at(table: pandas.DataFrame, checkpoint: str, line: str = ANY_LINE) -> pandas.DataFrame:
    return table[(table.checkpoint == checkpoint) & (table.line == line)]


def _our_box(scenario: Scenario) -> int | None:
    return next((team.box for team in scenario.teams if team.ours), None)


def page_html(
    samples: list[Sample],
    tables: list[pandas.DataFrame],
    scenario: Scenario,
    pictures: list[bytes],
    settled: Settled | None = None,
) -> str:
    """One file that needs no other: what was asked, the answers in words, pictures, tables."""
    body = [f"<h1>{escape(scenario.name)}: what does every box cost?</h1>"]
    if scenario.invented:
        body.append('<p class="note">Invented world.</p>')
    if settled is not None:
        body.append(
            f"<p><strong>{escape(_settled_words(settled, samples[0].checkpoints[-1]))}</strong></p>"
        )
    alts = ("Seconds and places lost by box", "The start coloured by seconds lost")
    body += [picture_html(png, alt) for png, alt in zip(pictures, alts, strict=True)]
    for sample, table in zip(samples, tables, strict=True):
        body += _question(sample, table, scenario)
    body += [f'<p class="note">{escape(text)}</p>' for text in (READING, LEFT_OUT, CAUTION)]
    head = f'<meta charset="utf-8"><title>{escape(scenario.name)}</title><style>{STYLE}</style>'
    return (
        f'<!doctype html><html lang="en"><head>{head}</head><body>{"".join(body)}</body></html>\n'
    )


def _question(sample: Sample, table: pandas.DataFrame, scenario: Scenario) -> list[str]:
    parts = [
        f"<h2>{escape(sample.question.capitalize())}</h2><p>{escape(MEANS[sample.question])} "
        f"{len(sample.box)} seeds.</p>"
    ]
    for c, name in enumerate(sample.checkpoints):
        parts.append(
            f"<h3>{escape(name)}</h3><p>{escape(_best_words(best_cell(sample, c, ANY_LINE)))}</p>"
        )
        parts.append(table_html(_box_rows(_at(table, name), scenario), _our_box(scenario)))
        parts.append("<p>Seconds lost by line, mean and interval:</p>")
        parts.append(table_html(_line_rows(table, name, sample.lines), _our_box(scenario)))
    return parts


def _best_words(best: Best) -> str:
    """Which box lost least, and from which others it cannot be told."""
    said = f"Least was lost from {best.name}"
    if best.is_clear:
        return f"{said}, less than from every other."
    alike = ", ".join(name.removeprefix("box ") for name in best.not_told_from)
    return f"{said}; against {alike}: {NOTHING_SEEN}."


def _box_rows(table: pandas.DataFrame, scenario: Scenario) -> list[list[str]]:
    head = "box|seeds|lost s|interval|10 to 90 %|box|line|traffic|extra way|places|10 to 90 %"
    rows = [[*head.split("|"), "against the mean of all boxes"]]
    for row in table.to_dict("records"):
        way = length_text(row["extra_m_finish"], scenario.units)
        rows.append(
            [
                str(row["box"]),
                str(row["seeds"]),
                _number(row["lost_s_mean"]),
                _ends(row["lost_s_low"], row["lost_s_high"]),
                _ends(row["lost_s_p10"], row["lost_s_p90"]),
                *(_number(row[f"{part}_s_mean"], "+") for part in ("box", "line", "traffic")),
                way,
                _whole(row["places_lost_mean"]),
                f"{_whole(row['places_lost_p10'])} to {_whole(row['places_lost_p90'])}",
                _against(row),
            ]
        )
    return rows


def _line_rows(table: pandas.DataFrame, checkpoint: str, lines: list[str]) -> list[list[str]]:
    found = {line: _at(table, checkpoint, line).set_index("box") for line in lines}
    rows = [["box", *lines]]
    for box in _at(table, checkpoint)["box"]:
        each = [found[line].loc[box] for line in lines]
        cells_ = [f"{_number(r.lost_s_mean)} ({_ends(r.lost_s_low, r.lost_s_high)})" for r in each]
        rows.append([str(box), *cells_])
    return rows


def _against(row: dict[Any, Any]) -> str:
    p_value = row["against_p"]
    if not p_value < 0.05:
        return NOTHING_SEEN
    low, high = row["against_s_low"], row["against_s_high"]
    return words(Estimate(row["against_s"], low, high, row["seeds"], p_value))


def _number(value: float, sign: str = "") -> str:
    return "-" if value != value else tenths(value, sign)


def _whole(value: float) -> str:
    return "-" if value != value else f"{round(value) + 0:d}"


def _ends(low: float, high: float) -> str:
    """A range; endless, or of nobody, is a dash."""
    known = abs(low) < float("inf") and abs(high) < float("inf")
    return f"{tenths(low)} to {tenths(high)}" if known else "-"


def picture_html(png: bytes, alt: str) -> str:
    """A picture inside the page."""
    data = base64.b64encode(png).decode()
    return f'<p><img alt="{escape(alt)}" src="data:image/png;base64,{data}"></p>'


def table_html(rows: list[list[str]], our_box: int | None) -> str:
    """Rows as a table, row 0 its head; the row that begins with our box stands out."""
    head, *body = rows
    top = "".join(f"<th>{escape(cell)}</th>" for cell in head)
    lines = [
        f"<tr{_mark(row, our_box)}>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>"
        for row in body
    ]
    return f'<div class="wide"><table><tr>{top}</tr>{"".join(lines)}</table></div>'


def _mark(row: list[str], our_box: int | None) -> str:
    return ' class="ours"' if row[0] == str(our_box) else ""
