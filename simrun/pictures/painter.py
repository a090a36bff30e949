"""One picture of the race: ground, names, runners, our team on top, title and legend around."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from simrun.pictures.colours import Indices
from simrun.pictures.director import Scene, Track, direct
from simrun.pictures.ground import BOX_DEPTH_M, Ground, Window
from simrun.pictures.labels import Box, Lettering, Written
from simrun.pictures.layout import Layout
from simrun.pictures.moments import Moments, followed, our_runners
from simrun.pictures.names import Names, group
from simrun.pictures.signs import Sign, box_signs, numbered, signs
from simrun.pictures.stamps import BORDER_PX, look, put_runners
from simrun.pictures.strips import SLOWED_WORDS, Strips, Words
from simrun.pictures.view import View, speed_words
from simrun.state.recording import Recording

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

STILL_FRAMES = 12
"""A zoom that lasts at least so many frames is drawn in tiles that are kept."""

_NUMBER_ROOM_PX = 15
_NUMBER_STEPS = (1, 2, 5, 10, 20, 50)


@dataclass
class Painter:
    """Paints any of the drawn moments of one race. `placed` holds the texts of the last map.

    star (N,): whom the camera follows where that is not simply our team; ours (N,): the rest of it.
    """

    recording: Recording
    view: View = field(default_factory=View)
    follow: str | None = None

    def __post_init__(self) -> None:
        race, view = self.recording.scenario, self.view
        self.units = view.units or race.units
        self.layout = Layout(view.width_px, view.height_px)
        self.moments = Moments(self.recording, view.moments_s(self.recording.times_s))
        self.followed = followed(self.recording, self.follow)
        self.our_team = our_runners(self.recording)
        whole_team = bool((self.followed.who == self.our_team).all())
        self.star = np.zeros_like(self.our_team) if whole_team else self.followed.who
        self.ours = self.our_team & ~self.star
        scene, where = Scene(race.strip, race.start_line), self.moments.position_m
        self.track: Track = direct(where, self.moments.t_s, self.followed, scene, self.layout)
        self._depth_m = _depth_m(self.recording)
        self._ground = Ground(race.strip, race.start_line, self.layout.scale, self._depth_m)
        self._strips = Strips(self.layout, self._words())
        self._lettering, self._signs = Lettering(self.layout), self._all_signs()
        groups = (
            group("followed", self.followed.label, self.star, where),
            group("ours", race.our_team or "", self.ours, where),
        )
        self._names = Names(self.layout, [one for one in groups if one])
        self._still = _often(self.track.scale_px_m)
        self.placed: list[Written] = []

    def __len__(self) -> int:
        return len(self.moments.t_s)

    def picture(self, frame: int) -> Indices:
        """The picture of one drawn moment, palette entries (H, W)."""
        window, taken = self.window(frame), list[Box]()
        ground = self._ground.seen(window, tiled=bool(self._still[frame]))
        every = self._every(window)
        chosen = tuple(sign for sign in self._signs if numbered(sign, every))
        self.placed = self._lettering.write(ground, window, chosen, taken)
        pixel = window.pixels(self.moments.position_m[frame])
        part = self._with_runners(ground, pixel, frame)
        self.placed += self._names.write(part, pixel, taken)
        return self._strips.frame(part, float(self.moments.t_s[frame]), window.scale_px_m)

    def window(self, frame: int) -> Window:
        """What part of the plane does the map show?"""
        scale = float(self.track.scale_px_m[frame])
        x, y = self.track.middle_m[frame] * scale
        wide, high = self.layout.width_px, self.layout.map_height_px
        return Window(scale, round(x - wide / 2), round(-y - high / 2), wide, high)

    def kinds(self, frame: int) -> dict[str, Mask]:
        """Who is drawn how? In the order of drawing: ours lie on top, and of ours the followed one."""
        slow, plain = self.moments.slowed[frame], ~self.ours & ~self.star
        groups = [("other", "slowed", plain), ("followed", "followed slowed", self.star)]
        ours = ("ours", "ours slowed", self.ours)
        groups.insert(1 if (self.star & self.our_team).any() else 2, ours)
        drawn: dict[str, Mask] = {}
        for usual, slowed, who in groups:
            drawn |= {usual: who & ~slow, slowed: who & slow}
        return drawn

    def _with_runners(self, ground: Indices, pixel: Array, frame: int) -> Indices:
        bordered = np.pad(ground, BORDER_PX)
        scale = float(self.track.scale_px_m[frame])
        for kind, who in self.kinds(frame).items():
            put_runners(bordered, pixel[who], look(kind, scale, self.layout.scale))
        return bordered[BORDER_PX:-BORDER_PX, BORDER_PX:-BORDER_PX]

    def _every(self, window: Window) -> int:
        """Every so many-th box has room for its number at this zoom."""
        box = self.recording.scenario.start_line.boxes[0]
        high = window.scale_px_m * float(np.hypot(*(box.right_m - box.left_m)))
        wanted = self.layout.px(_NUMBER_ROOM_PX) / high
        return next((step for step in _NUMBER_STEPS if step >= wanted), _NUMBER_STEPS[-1])

    def _all_signs(self) -> tuple[Sign, ...]:
        race, roster = self.recording.scenario, self.recording.roster
        ours = {int(box) for box in roster.box[self.ours | self.star]}
        named = (*box_signs(race.start_line, self._depth_m, ours), *signs(race.strip, self.units))
        return tuple(sorted(named, key=lambda sign: -sign.importance))

    def _words(self) -> Words:
        race = self.recording.scenario
        people = [("ours", race.our_team or "")] if self.ours.any() else []
        people += [("followed", self.followed.label)] if self.star.any() else []
        people += [("other", "other runners" if people else "runners"), ("slowed", SLOWED_WORDS)]
        whom = self.followed.label if self.followed.who.any() else "the pack"
        footer = "simulation, invented field" if race.invented else "simulation"
        speed = speed_words(self.view.speed)
        return Words(race.name, f"following {whom}", tuple(people), speed, footer, self.units)


def _often(scale_px_m: Array) -> Mask:
    """Which frames have a zoom that lasts? (F,)"""
    _, which, counts = np.unique(scale_px_m, return_inverse=True, return_counts=True)
    return np.asarray(counts[which] >= STILL_FRAMES)


def _depth_m(recording: Recording) -> float:
    """How far behind the line, or the arc, do the boxes reach? Behind the last row at the gun."""
    place = recording.position_m[0].astype(float)
    place = place[np.isfinite(place).all(axis=1)]
    if not len(place):
        return BOX_DEPTH_M
    line = recording.scenario.start_line.line_m
    away = np.hypot(*(place[:, None, :] - line[None, :, :]).transpose(2, 0, 1)).min(axis=1)
    return float(np.clip(away.max() + 1.2, BOX_DEPTH_M, 15.0))
