"""The team's plan as a coach reads it: one paragraph, pay-off curves, tables; and the page for the team."""

from __future__ import annotations

import base64
from collections.abc import Mapping
from html import escape
from pathlib import Path
from typing import Any

import numpy as np

from simrun.answers.boxes.page import STYLE
from simrun.answers.tactic.orders import OPENINGS, the_team
from simrun.answers.tactic.run import KNEE_S, PRESENT, Found, inside_minus_outside
from simrun.answers.tactic.tactic_score import Scored
from simrun.answers.tactic.team_card import NOT_IN_IT, opening_words, team_card
from simrun.base.csv import write_csv
from simrun.base.writing import write_text, written_beside
from simrun.pages.text import tenths
from simrun.pictures.charts.team_sheet import PAPERS, TeamCard, team_pdf
from simrun.trials.statistics import NOTHING_SEEN, Estimate, estimate, paired, words

READING = (
    "Seconds lost are against the same runner with the same opening, alone, from the best box on the "
    "shortest line: seconds that a fast opening borrows count as paid back one for one, which is assumed and "
    "not measured. Team points are places carried to the finish of 5 km: everybody's own 5 km time and the "
    "seconds lost so far."
)


def write_tactic(found: Found, folder: Path) -> list[Path]:
    """Write page, table, pay-off picture, and the team's page as HTML and PDF in both paper sizes."""
    from simrun.answers.tactic.charts import payoff_chart, share_chart
    from simrun.pictures.charts.box_charts import png_of

    payoff = png_of(payoff_chart(curves_of(found), f"{found.team}: what going out harder buys"))
    pictures = [("Pay-off curve of every runner", payoff)]
    if found.by_share:
        title = f"{found.team}: inside or outside?"
        shares = png_of(share_chart(inside_minus_outside(found), title))
        pictures.append(("Inside minus outside by the share of the field inside", shares))
    written = [write_csv(tactic_table(found), folder / "tactic.csv")]
    with written_beside(folder / "payoff.png") as beside:
        beside.write_bytes(payoff)
    written.append(folder / "payoff.png")
    written.append(write_text(folder / "tactic.html", tactic_html(found, pictures)))
    card = team_card(found)
    written.append(write_text(folder / "team.html", card_html(card)))
    for paper in PAPERS:
        path = folder / f"team_{paper.lower()}.pdf"
        with written_beside(path) as beside:
            beside.write_bytes(team_pdf(card, paper))
        written.append(path)
    return written


def curves_of(found: Found) -> list[Any]:
    """Every runner's pay-off with its knee, in the order of the paper."""
    from simrun.answers.tactic.charts import Curve

    curves = []
    for i, person in enumerate(the_team(found.day, found.team).people):
        lost = [estimate(arm.lost_s[:, i, -1]) for arm in found.curve.values()]
        curves.append(
            Curve(
                person.name,
                list(found.curve),
                [e.mean for e in lost],
                [e.low for e in lost],
                [e.high for e in lost],
                found.order.opening_of(person.name),
            )
        )
    return curves


def tactic_table(found: Found) -> Any:
    """Every arm that was tried, a row a runner and checkpoint: mean seconds lost, interval, mean place."""
    import pandas as pd

    names = [person.name for person in the_team(found.day, found.team).people]
    marks = [mark.name for mark in found.day.strip.checkpoints]
    rows = [
        {"step": step, "arm": arm_name, "runner": names[i], "checkpoint": marks[c]}
        | _cell(arm, i, c)
        for step, arms in _steps(found).items()
        for arm_name, arm in arms.items()
        for i in range(len(names))
        for c in range(len(marks))
    ]
    return pd.DataFrame(rows)


def _steps(found: Found) -> dict[str, dict[str, Scored]]:
    return {
        "opening and line": {f"{o:.2f} {w}": arm for (o, w), arm in found.grid.items()},
        "later turns": {f"{turn} {w}": arm for (turn, w), arm in found.turns.items()},
        "front row": dict(found.fronts),
        "pay-off": {f"{o:.2f}": arm for o, arm in found.curve.items()},
        "share inside": {f"{s:.1f} {w}": arm for (s, w), arm in found.by_share.items()},
        "fresh seeds": dict(found.fresh),
    }


def _cell(arm: Scored, runner: int, checkpoint: int) -> dict[str, float]:
    lost = estimate(arm.lost_s[:, runner, checkpoint])
    place = arm.place[:, runner, checkpoint]
    return {
        "seeds": lost.count,
        "lost_s_mean": lost.mean,
        "lost_s_low": lost.low,
        "lost_s_high": lost.high,
        "place_mean": float(np.nanmean(place)) if not np.isnan(place).all() else np.nan,
        "finish_place_mean": float(np.mean(arm.finish_place[:, runner])),
    }


def plan_words(found: Found) -> list[str]:
    """The plan in one paragraph of plain words: what to do, how sure it is, what would change it."""
    return [_do_words(found), _sure_words(found), *_change_words(found)]


def _do_words(found: Found) -> str:
    openings = sorted({found.order.opening_of(name) for name in _names(found)})
    harder = " to ".join(map(opening_words, dict.fromkeys([openings[0], openings[-1]])))
    said = f"Put {', '.join(found.order.front)} in the front row. " if found.order.front else ""
    said += f"Go out at {harder}, each as the team's page says."
    lines = found.order.lines
    if lines and len(set(lines.values())) == 1:
        return f"{said} Take every turn {next(iter(lines.values()))}."
    if lines:
        said += " Turns: " + ", ".join(f"{turn} {word}" for turn, word in lines.items()) + "."
    return said


def _sure_words(found: Found) -> str:
    """How much it brings on seeds that had no part in the choice, and at what error."""
    gain = found.gain.found
    count = len(found.gain.values)
    told = words(gain, "s", "less", "more")
    said = f"Over {count} fresh races our first five lose {told} than with the plan on paper."
    if told == NOTHING_SEEN:
        said = f"Against the plan on paper: {NOTHING_SEEN} in seconds, over {count} fresh races."
    return f"{said} In {_cost_name(found)}: {_points_words(found)}."


def _points_words(found: Found) -> str:
    """The gain in whole points, which is how a coach counts."""
    gain = paired(found.fresh[PRESENT].cost, found.fresh["the plan"].cost)
    if not gain.is_seen or not np.isfinite([gain.low, gain.high]).all():
        return NOTHING_SEEN
    ends = sorted(abs(round(end)) for end in (gain.low, gain.high))
    return f"{ends[0]} to {ends[1]} {'fewer' if gain.low > 0 else 'more'}"


def _cost_name(found: Found) -> str:
    return "places" if np.isnan(found.fresh["the plan"].points).any() else "team points"


def _change_words(found: Found) -> list[str]:
    said = []
    if found.by_share:
        first = next(iter(found.order.lines))
        said.append(f"At {first}: {_share_words(inside_minus_outside(found))}")
    low, _, high = sorted(found.by_payback)
    soft, hard = (opening_words(found.by_payback[payback]) for payback in (low, high))
    borrowed = f"a second borrowed by going out fast costs {low:g} s later"
    if soft == hard:
        said.append(f"Whether {borrowed} or {high:g} s, {soft} is enough for the team as a whole.")
    else:
        said.append(
            f"If {borrowed}, {soft} pays for the team as a whole; if {high:g} s, {hard} does."
        )
    return said


def _share_words(found: Mapping[float, Estimate]) -> str:
    parts = []
    for share, e in found.items():
        told = words(e, "s", "faster outside", "faster inside")
        parts.append(f"with {100 * share:.0f} % of the others inside we are {told}")
    return ("; ".join(parts) + ".").replace(
        f"we are {NOTHING_SEEN}", f"there is {NOTHING_SEEN} between inside and outside"
    )


def _names(found: Found) -> list[str]:
    return [person.name for person in the_team(found.day, found.team).people]


def tactic_html(found: Found, pictures: list[tuple[str, bytes]]) -> str:
    """One file that needs no other: the plan in words, pictures, tables."""
    day = found.day
    body = [f"<h1>{escape(found.team)}: what do we do about our box?</h1>"]
    invented = "Invented world. " if day.invented else ""
    last = day.strip.checkpoints[-1].name
    seeds = f"{invented}{day.name}, to {last}; {len(found.seeds)} races an arm to choose with, "
    seeds += f"{len(found.fresh_seeds)} fresh ones to check with"
    seeds += f", {found.trials} plans tried by the search." if found.trials else "."
    body.append(f'<p class="note">{escape(seeds)}</p>')
    do, *rest = plan_words(found)
    body.append(f"<p><strong>{escape(do)}</strong> {escape(' '.join(rest))}</p>")
    for alt, picture in pictures:
        data = base64.b64encode(picture).decode()
        body.append(f'<p><img alt="{alt}" src="data:image/png;base64,{data}"></p>')
    body.append(
        f'<p class="note">A ring marks the knee: the least opening within {KNEE_S:g} s of the best. '
        "The band is the interval of the mean.</p>"
    )
    first = next(iter(found.order.lines), "")
    head = f"Opening by line at {first}" if first else "Opening"
    body.append(f"<h2>{escape(head)}</h2><p>Seconds lost by our first five, mean and interval; ")
    body.append(f"{escape(_grid_words(found))}</p>{_table(_grid_rows(found))}")
    if found.turns:
        body.append(f"<h2>The later turns, one by one</h2>{_table(_turn_rows(found))}")
    if len(found.fronts) > 1:
        body.append("<h2>Who stands in the front row</h2>")
        body.append(_table(_front_rows(found)) + _table(_row_rows(found)))
    body += [f'<p class="note">{escape(text)}</p>' for text in (READING, NOT_IN_IT)]
    return _page(found.team, "".join(body), STYLE)


def _grid_words(found: Found) -> str:
    if found.best.is_clear:
        return "the best is better than every other, after all pairs were looked at (Holm's correction)."
    count = len(found.best.not_told_from)
    return (
        f"in {_cost_name(found)}, {count} of the other {len(found.grid) - 1} cannot be told from the best "
        "after all pairs were looked at (Holm's correction)."
    )


def _grid_rows(found: Found) -> list[list[str]]:
    line_words = list(dict.fromkeys(word for _, word in found.grid))
    rows = [["go out", *line_words, *(f"{_cost_name(found)}, {word}" for word in line_words)]]
    for opening in OPENINGS:
        arms = [found.grid[opening, word] for word in line_words]
        seconds = [_mean_words(estimate(arm.scorers_lost_s)) for arm in arms]
        rows.append([opening_words(opening), *seconds, *(f"{arm.cost.mean():.0f}" for arm in arms)])
    return rows


def _turn_rows(found: Found) -> list[list[str]]:
    """Seconds lost by our first five when only this turn is taken so."""
    line_words = list(dict.fromkeys(word for _, word in found.turns))
    rows = [["turn", *line_words]]
    for turn in dict.fromkeys(turn for turn, _ in found.turns):
        arms = [found.turns[turn, word] for word in line_words]
        rows.append([turn, *(_mean_words(estimate(arm.scorers_lost_s)) for arm in arms)])
    return rows


def _front_rows(found: Found) -> list[list[str]]:
    rows = [["front row", "our first five lose", _cost_name(found)]]
    for told, arm in found.fronts.items():
        rows.append([told, _mean_words(estimate(arm.scorers_lost_s)), f"{arm.cost.mean():.0f}"])
    return rows


def _row_rows(found: Found) -> list[list[str]]:
    """What does each lose in each of these front rows? Slots by runner."""
    rows = [["seconds lost by", *found.fronts]]
    for i, name in enumerate(_names(found)):
        cells = [_mean_words(estimate(arm.lost_s[:, i, -1])) for arm in found.fronts.values()]
        rows.append([name, *cells])
    return rows


def _mean_words(e: Estimate) -> str:
    known = np.isfinite([e.low, e.high]).all()
    return tenths(e.mean) + (f" ({tenths(e.low)} to {tenths(e.high)})" if known else "")


def _table(rows: list[list[str]]) -> str:
    head, *body = rows
    top = "".join(f"<th>{escape(cell)}</th>" for cell in head)
    lines = "".join(
        "<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>" for row in body
    )
    return f'<div class="wide"><table><tr>{top}</tr>{lines}</table></div>'


CARD_STYLE = (
    "@page{margin:12mm}"
    "body{font:13px/1.4 sans-serif;color:#1f272b;max-width:56em;margin:1em auto;padding:0 1em}"
    "h1{font-size:1.5em;margin:.2em 0}h2{font-size:1.1em;margin:1em 0 .2em}p,ul{margin:.3em 0}"
    "table{border-collapse:collapse;width:100%}td,th{padding:.25em .4em;text-align:left;"
    "border-bottom:1px solid #bec5ba;vertical-align:top}td:nth-child(n+3){white-space:nowrap}"
    "th{background:#f8f5eb}.note{color:#56626a}"
    "div.wide{overflow-x:auto}@media print{body{margin:0;max-width:none;font-size:11px}}"
)


def card_html(card: TeamCard) -> str:
    """The team's page, to be printed on A4 or Letter."""
    body = f"<h1>{escape(card.title)}</h1><p>{escape(card.box)}</p>"
    body += _table([list(card.head), *map(list, card.runners)])
    for head, said in (
        ("Line", card.lines),
        ("Where", card.moves),
        ("What to expect", card.outcome),
    ):
        body += f"<h2>{head}</h2><ul>" + "".join(f"<li>{escape(s)}</li>" for s in said) + "</ul>"
    body += f'<p class="note">{escape(card.left_out)}</p>'
    return _page(card.title, body, CARD_STYLE)


def _page(title: str, body: str, style: str) -> str:
    head = '<meta charset="utf-8"><meta name="viewport" content="width=device-width">'
    head += f"<title>{escape(title)}</title><style>{style}</style>"
    return f'<!doctype html><html lang="en"><head>{head}</head><body>{body}</body></html>\n'
