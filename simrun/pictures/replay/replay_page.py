"""The replay as one web page that opens from disk and asks the network for nothing."""

from __future__ import annotations

import base64
import hashlib
from functools import cache
from pathlib import Path

from simrun.base.writing import write_text
from simrun.pictures.replay.replay_data import page_data, page_text
from simrun.pictures.story.moments import followed
from simrun.state.recording import Recording

WEB = Path(__file__).parent / "web"
# Another page may draw with all of them but the last two: those hold the clock and the hands of this page.
SCRIPTS = (
    *("data.js", "look.js", "camera.js", "map.js", "ribbon.js", "lostat.js", "things.js"),
    *("eye.js", "main.js", "hands.js"),
)


def write_page(
    recording: Recording,
    path: str | Path,
    *,
    other: Recording | None = None,
    follow: str | None = None,
    units: str | None = None,
    note: str = "",
) -> Path:
    """Write the page of one race, or of two plans run by the same people, one over the other.

    follow: a team or a runner by name, whom the page follows when it opens. units: None, as the scenario
    says. note: what stands below the table, such as what is left out.
    Raises BadInput, CannotWrite. Check: tests/journeys/test_page.py (in a browser).
    """
    return write_text(path, page_html(recording, other, follow, units, note))


def page_html(
    recording: Recording,
    other: Recording | None = None,
    follow: str | None = None,
    units: str | None = None,
    note: str = "",
) -> str:
    """The page as text: template, style, script and data in one, and nothing from anywhere else."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined
    from markupsafe import Markup

    data = page_data(recording, other)
    data["units"] = units or data["units"]
    data["note"] = note
    data["follow"] = _follow_word(recording, follow)
    script, style = script_text(), _web("replay.css")
    page = Environment(
        loader=FileSystemLoader(WEB.parent), autoescape=True, undefined=StrictUndefined
    ).get_template("replay.html.j2")
    return page.render(
        data=data,
        # Ours, not the scenario's: these three are markup already, and the data hold no < > &.
        text=Markup(page_text(data)),
        script=Markup(script),
        style=Markup(style),
        script_hash=_hash(script),
        style_hash=_hash(style),
    )


def script_text() -> str:
    """All scripts as one that leaves no names behind."""
    parts = "\n".join(_web(name) for name in SCRIPTS)
    return f'(() => {{\n"use strict";\n{parts}\n}})();\n'


@cache
def _web(name: str) -> str:
    return (WEB / name).read_text("utf-8")


def _hash(text: str) -> str:
    """How the page's own rules name a script: only this one may run."""
    digest = hashlib.sha256(text.encode()).digest()
    return f"sha256-{base64.b64encode(digest).decode()}"


def _follow_word(recording: Recording, name: str | None) -> str | None:
    """Whom to follow, as the page writes it: team or runner by number."""
    if name is None:
        return None
    who = followed(recording, name).who.nonzero()[0]
    team = recording.roster.team_index[who[0]]
    is_team = recording.roster.team_names[team] == name
    return f"team:{team}" if is_team else f"runner:{who[0]}"
