"""The course card: a few races, where passing was possible in them, and one page to print."""

from __future__ import annotations

import base64
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from simrun.answers.card.card_races import Timed, run_races, stations_of
from simrun.answers.card.words import SETTLED, Told, told
from simrun.base.csv import write_csv
from simrun.base.errors import BadInput
from simrun.base.units import length_text, pace_text
from simrun.base.writing import ready_folder, write_text, written_beside
from simrun.measure.stretches import Stretch, stretches
from simrun.pages.text import LEFT_OUT
from simrun.scenario.scenario import Scenario

if TYPE_CHECKING:
    import pandas

    from simrun.pictures.charts.course_map import Coloured

STYLE = (
    "body{font:14px/1.35 sans-serif;color:#1f272b;max-width:60em;margin:1.5em auto;padding:0 1em}"
    "h1{font-size:1.3em;margin:0}img{width:100%}table{border-collapse:collapse;width:100%}"
    "th,td{padding:.1em .4em;text-align:left;vertical-align:top;border-bottom:1px solid #bec5ba}"
    "td:not(:nth-child(2)):not(:last-child){white-space:nowrap}.foot{color:#56626a;font-size:.85em}"
    ".sit{background:#e3e6ee}.move{background:#fbf6d0}"
    "@page{margin:9mm}@media print{body{font-size:6.8pt;line-height:1.2;margin:0;padding:0;"
    "max-width:none;-webkit-print-color-adjust:exact;print-color-adjust:exact}"
    "img{display:block;height:43vh;width:auto;max-width:100%;margin:auto}tr{break-inside:avoid}}"
)


def write_card(
    scenario: Scenario, folder: str | Path, seeds: int, how: tuple[str, str], **run: Any
) -> tuple[list[Path], pandas.DataFrame]:
    """Run the races and write card.html, card.pdf, card.csv, and course.gpx where the course has a place.

    how: units, and paper of the PDF. run: as of carry_out. Stopped and called again, it goes on with the
    races in card_races.db. Raises SimrunError. Check: tests/journeys/test_card.py.
    """
    from simrun.pictures.charts.box_charts import png_of
    from simrun.pictures.charts.card_sheet import overview, pdf_of

    where = ready_folder(folder)
    found = stretches(scenario.strip)
    stations, numbers = stations_of(found), tuple(range(1, seeds + 1))
    store = where / "card_races.db"
    timed = run_races(scenario, stations, numbers, store=store, **run)
    rows = told(found, [timed.passing(s.from_m, s.to_m) for s in found], how[0])
    bands = bands_of(timed, found, stations)
    foot = foot_of(scenario, seeds)
    table = table_of(rows)
    written = [write_csv(table, where / "card.csv")]
    written.append(
        _write_bytes(where / "card.pdf", pdf_of(_sheet(scenario, bands, rows, (*how, foot))))
    )
    picture = png_of(overview(scenario, bands, how[0]), 200)
    written.append(
        write_text(where / "card.html", page_html(scenario, rows, (how[0], foot), picture))
    )
    return [*written, *_gpx(scenario, where), store], table


def card_rows(rows: tuple[Told, ...], units: str) -> list[list[str]]:
    """The table of the card as text, without its head."""
    return [
        [
            length_text(row.stretch.from_m, units) if row.stretch.from_m else "start",
            row.stretch.name + (f", lap {row.stretch.lap}" if row.stretch.lap > 1 else ""),
            length_text(row.stretch.width_m, units),
            "-" if np.isnan(row.passing.open_share) else f"{10 * row.passing.open_share:.0f} of 10",
            "-" if np.isnan(row.passing.mean_traffic_s) else _seconds(row.passing.mean_traffic_s),
            "-" if np.isnan(row.passing.middle_m_s) else pace_text(row.passing.middle_m_s, units),
            row.note,
        ]
        for row in rows
    ]


def _seconds(value: float) -> str:
    return f"{round(value, 1) + 0.0:.1f} s"


def _sheet(
    scenario: Scenario,
    bands: tuple[Coloured, ...],
    rows: tuple[Told, ...],
    how: tuple[str, str, str],
) -> Any:
    from simrun.pictures.charts.card_sheet import printed_card

    dull = [row.word == SETTLED for row in rows]
    return printed_card(scenario, bands, card_rows(rows, how[0]), dull, how)


def bands_of(
    timed: Timed, found: tuple[Stretch, ...], stations: list[float]
) -> tuple[Coloured, ...]:
    """The colours of the map, from station to station; a stretch's own share where a part says too little."""
    import numpy as np

    from simrun.pictures.charts.course_map import Coloured

    bands, low = [], 0.0
    for high in stations:
        stretch = next(s for s in found if high <= s.to_m + 1e-6)
        share = timed.passing(low, high).open_share if low else np.nan
        if np.isnan(share) and stretch.from_m:
            share = timed.passing(stretch.from_m, stretch.to_m).open_share
        bands.append(Coloured(low, high, share, stretch.lap))
        low = high
    return tuple(bands)


def foot_of(scenario: Scenario, seeds: int) -> str:
    """What the figures rest on."""
    invented = "Invented world. " if scenario.invented else ""
    return (
        f"{invented}{seeds} simulated races of {scenario.runners} runners. Get by: of ten runners who "
        "would come out in front of somebody with nobody near, so many did. Traffic: mean seconds longer "
        "than alone; as a range, from race to race. Pace: the runner in the middle. " + LEFT_OUT
    )


def table_of(rows: tuple[Told, ...]) -> pandas.DataFrame:
    """One row a stretch, plain numbers, metres and seconds."""
    import pandas as pd

    return pd.DataFrame(
        {
            "stretch": row.stretch.name,
            "lap": row.stretch.lap,
            "from_m": row.stretch.from_m,
            "to_m": row.stretch.to_m,
            "narrowest_m": row.stretch.width_m,
            "climb_m": row.stretch.climb_m,
            "passes_per_100_m": row.passing.passes_per_100_m,
            "wished_per_100_m": row.passing.wished_per_100_m,
            "wished_made_share": row.passing.open_share,
            "traffic_s": row.passing.mean_traffic_s,
            "word": row.word,
            "note": row.note,
        }
        for row in rows
    )


def page_html(
    scenario: Scenario, rows: tuple[Told, ...], how: tuple[str, str], picture: bytes
) -> str:
    """One file that needs no other, and prints on one sheet of either paper."""
    from simrun.pictures.charts.card_sheet import HEAD

    units, foot = how
    title = f"{scenario.name}: {length_text(scenario.strip.length_m, units)}"
    data = base64.b64encode(picture).decode()
    top = "".join(f"<th>{escape(word)}</th>" for word in HEAD)
    lines = [
        f'<tr class="{row.word}">' + "".join(f"<td>{escape(cell)}</td>" for cell in cells) + "</tr>"
        for row, cells in zip(rows, card_rows(rows, units), strict=True)
    ]
    head = f'<meta charset="utf-8"><title>{escape(title)}</title><style>{STYLE}</style>'
    body = (
        f'<h1>{escape(title)}</h1><img alt="Map and hill of the course" '
        f'src="data:image/png;base64,{data}"><table><tr>{top}</tr>{"".join(lines)}</table>'
        f'<p class="foot">{escape(foot)}</p>'
    )
    return f'<!doctype html><html lang="en"><head>{head}</head><body>{body}</body></html>\n'


def _write_bytes(path: Path, data: bytes) -> Path:
    with written_beside(path) as beside:
        beside.write_bytes(data)
    return path


def _gpx(scenario: Scenario, where: Path) -> list[Path]:
    """The course for a watch; one that lies nowhere on the globe has none."""
    from simrun.course.tracks.track_drawing import to_gpx

    try:
        text = to_gpx(scenario.strip, scenario.name)
    except BadInput:
        return []
    return [write_text(where / "course.gpx", text)]
