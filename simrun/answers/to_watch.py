"""Which moments of a replay beside a page does a picture tell of? Its places, as links."""

from __future__ import annotations

from dataclasses import replace

from simrun.pages.page import Figure, Moment
from simrun.scenario.scenario import Scenario

REPLAY_FILE = "replay.html"
GUN = "the gun"


def to_watch(figure: Figure, day: Scenario, *names: str) -> Figure:
    """The picture, told where on the course of its race day it looks: links, once a replay of it lies beside.

    names: gates, checkpoints and landmarks; GUN is the gun. None: the gun, the first narrowing, the first
    turn and the last mark. Check: tests/journeys/test_links_to_moments.py (followed in a browser).
    """
    known = _stations_m(day)
    wanted = list(dict.fromkeys(names or _deciding(day)))
    places = tuple(
        Moment(REPLAY_FILE, 0.0, name, along_m=None if name == GUN else known[name])
        for name in wanted
        if name == GUN or name in known
    )
    return replace(figure, race=day.name, places=places)


def _stations_m(day: Scenario) -> dict[str, float]:
    """Where along the measured line is every named place? Of a lapped one the first."""
    strip = day.strip
    marks = [(mark.name, mark.station_m) for mark in (*strip.landmarks, *strip.checkpoints)]
    gates = [(gate.name, float(strip.station_m[gate.first_cut])) for gate in reversed(strip.gates)]
    return dict([*marks, *gates])


def _deciding(day: Scenario) -> list[str]:
    """The gun, the first narrowing, the first turn, the last mark."""
    gates = day.strip.gates
    throat = next((gate.name for gate in gates if gate.kind != "turn"), GUN)
    turn = next((gate.name for gate in gates if gate.kind == "turn"), GUN)
    return [GUN, throat, turn, day.strip.checkpoints[-1].name]
