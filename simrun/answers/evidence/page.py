"""The evidence as one page that needs nothing else: tables in words, pictures inside the file."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import Protocol

STRENGTHS = {
    "A": "exact: within numerical tolerance, 5 % where bodies stand for a fluid",
    "B": "measured: within the published band",
    "C": "sign: the whole 95 % interval over paired seeds on the right side",
}


class Row(Protocol):
    """One figure held against its band, as study.checks makes it."""

    @property
    def name(self) -> str: ...
    @property
    def strength(self) -> str: ...
    @property
    def measured(self) -> float: ...
    @property
    def reach(self) -> float: ...
    @property
    def unit(self) -> str: ...
    @property
    def band_text(self) -> str: ...
    @property
    def source(self) -> str: ...
    @property
    def met(self) -> bool: ...
    @property
    def note(self) -> str: ...
    @property
    def cause(self) -> str: ...


@dataclass(frozen=True)
class Part:
    """One part of the page: what is asked, the picture, and the rows. alt: the picture in words."""

    title: str
    words: tuple[str, ...]
    rows: Sequence[Row] = ()
    picture: bytes = b""
    alt: str = ""


def evidence_page(title: str, words: Sequence[str], parts: Sequence[Part], caution: str) -> str:
    """The whole page as HTML."""
    rows = [row for part in parts for row in part.rows]
    body = [f"<h1>{escape(title)}</h1>", *_paragraphs(words), _verdict(rows), _missed(rows)]
    body.append(_legend())
    body += [_part(part, _causes(rows)) for part in parts]
    body.append(f"<footer><h2>Standing caution</h2><p>{escape(caution)}</p></footer>")
    head = f'<meta charset="utf-8"><title>{escape(title)}</title><style>{STYLE}</style>'
    view = '<meta name="viewport" content="width=device-width, initial-scale=1">'
    return (
        f'<!doctype html>\n<html lang="en"><head>{head}{view}</head>\n'
        f"<body><main>{chr(10).join(body)}</main></body></html>\n"
    )


def _paragraphs(words: Sequence[str]) -> list[str]:
    return [f"<p>{escape(each)}</p>" for each in words]


def _verdict(rows: Sequence[Row]) -> str:
    met = sum(row.met for row in rows)
    return (
        f'<p class="verdict">{met} of {len(rows)} rows are met, {len(rows) - met} are missed.</p>'
    )


def _missed(rows: Sequence[Row]) -> str:
    """The misses first, each once with what in the model causes it."""
    missed = [row for row in rows if not row.met]
    if not missed:
        return ""
    items = [
        f"<li>{escape(row.name)}: {_number(row)} against {escape(row.band_text)}"
        f"{_see(row, _causes(rows))}</li>"
        for row in missed
    ]
    causes = _causes(rows)
    why = "".join(f"<li>{escape(cause[0].upper() + cause[1:])}.</li>" for cause in causes)
    listed = f"<h2>What is missed</h2><ul>{''.join(items)}</ul>"
    return listed + (f"<h3>What in the model causes it</h3><ol>{why}</ol>" if why else "")


def _causes(rows: Sequence[Row]) -> list[str]:
    """Every cause once, in the order in which it is met."""
    return list(dict.fromkeys(row.cause for row in rows if row.cause and not row.met))


def _see(row: Row, causes: Sequence[str]) -> str:
    """Which of the causes makes this row miss?"""
    known = row.cause in causes and not row.met
    return f" (cause {causes.index(row.cause) + 1})" if known else ""


def _legend() -> str:
    items = "".join(f"<dt>{key}</dt><dd>{escape(text)}</dd>" for key, text in STRENGTHS.items())
    known = (
        "How we know a published figure stands after its source: seen (read in a public copy), memory "
        "(quoted, not read again), computed (follows from geometry or algebra), common practice (a rule "
        "of the trade)."
    )
    return f"<h2>How to read the tables</h2><dl>{items}</dl><p>{known}</p>"


def _part(part: Part, causes: Sequence[str]) -> str:
    picture = ""
    if part.picture:
        text = base64.b64encode(part.picture).decode("ascii")
        picture = f'<img src="data:image/png;base64,{text}" alt="{escape(part.alt)}">'
    table = _table(part.rows, causes) if part.rows else ""
    words = "".join(_paragraphs(part.words))
    return f"<section><h2>{escape(part.title)}</h2>{words}{picture}{table}</section>"


def _table(rows: Sequence[Row], causes: Sequence[str]) -> str:
    titles = ("what", "kind", "model", "band", "verdict", "source, how we know it")
    head = "".join(f'<th scope="col">{title}</th>' for title in titles)
    return (
        f'<div class="wide"><table><thead><tr>{head}</tr></thead>'
        f"<tbody>{''.join(_row(row, causes) for row in rows)}</tbody></table></div>"
    )


def _row(row: Row, causes: Sequence[str]) -> str:
    small = f"<small>{escape(row.note)}</small>" if row.note else ""
    word = "met" if row.met else "missed"
    verdict = f'<td><span class="{word}">{word}</span>{_see(row, causes)}</td>'
    return (
        f'<tr><th scope="row">{escape(row.name)}{small}</th><td>{row.strength}</td>'
        f"<td>{_number(row)}</td><td>{escape(row.band_text)}</td>{verdict}"
        f'<td class="source">{escape(row.source)}</td></tr>'
    )


def _number(row: Row) -> str:
    size = abs(row.measured)
    whole, near_one = row.measured == round(row.measured), 0.99 < size < 1
    digits = 0 if whole else 4 if size < 0.1 or near_one else 3 if size < 2 else 2
    number = f"{row.measured:.{digits}f}"
    reach = f" ± {row.reach:.2f}" if row.reach else ""
    return escape(f"{number}{reach} {row.unit}".rstrip())


STYLE = """
body { margin: 0; background: #f8f5eb; color: #1f272b; font: 16px/1.5 system-ui, sans-serif; }
main { max-width: 68rem; margin: 0 auto; padding: 1.5rem; }
h1 { font-size: 1.8rem; line-height: 1.2; } h2 { font-size: 1.25rem; margin: 2rem 0 0.4rem; }
h3 { font-size: 1rem; margin: 1rem 0 0.2rem; }
p, ul, ol, dl { max-width: 46rem; margin: 0.4rem 0; }
dl { display: grid; grid-template-columns: 2rem 1fr; } dd { margin: 0; } dt { font-weight: 700; }
.verdict { font-size: 1.15rem; font-weight: 700; }
img { max-width: 100%; height: auto; background: #fff; margin: 0.6rem 0; }
.wide { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; font-size: 0.85rem; background: #fff; }
th, td { text-align: left; vertical-align: top; padding: 0.35rem 0.6rem; border-bottom: 1px solid #bec5ba; }
tbody th { font-weight: 400; width: 34%; } td:nth-child(3), td:nth-child(4) { white-space: nowrap; }
small { display: block; color: #566267; } .source { color: #566267; font-size: 0.78rem; width: 26%; }
.missed { font-weight: 700; text-decoration: underline; } .met { color: #1f272b; }
footer { border-top: 2px solid #1f272b; margin-top: 2rem; }
@media print { body { background: #fff; } section { break-inside: avoid; } }
"""
