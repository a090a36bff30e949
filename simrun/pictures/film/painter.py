"""One picture of the race: ground, names, runners, our team on top, title and legend around."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from simrun.pictures.film.inset import SHORTEST_S, inset, turn_called
from simrun.pictures.film.ledger import Ledger, rows_of
from simrun.pictures.film.ribbon_part import RibbonPart
from simrun.pictures.ink.colours import Indices, ink
from simrun.pictures.ink.lettering import plain
from simrun.pictures.ink.panels import Layout
from simrun.pictures.ink.placing import Box
from simrun.pictures.ink.stamps import BORDER_PX, Look, look, put_numbered, put_runners
from simrun.pictures.ink.strips import LOSING_WORDS, OTHER_PLAN_WORDS, Strips, Words
from simrun.pictures.ink.view import View, speed_words
from simrun.pictures.map.labels import Lettering, Written
from simrun.pictures.map.name_tags import Names, group
from simrun.pictures.map.signs import Sign, box_signs, numbered, signs
from simrun.pictures.map.terrain import Ground, Window
from simrun.pictures.story.captions import PAUSE_S, captions, write
from simrun.pictures.story.captions import SHOWN_S as SHOWN_CAPTION_S
from simrun.pictures.story.director import Scene, Track, direct
from simrun.pictures.story.moments import Followed, Moments, box_depth_m, followed, our_runners
from simrun.pictures.story.script import Beat
from simrun.pictures.story.telling import Telling
from simrun.state.recording import Recording

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

PACED_FRAME_S = 0.2
"""So long a frame is for the camera where the speed follows the seconds lost, at ten frames a second."""

LIT_PX = 13
"""How large is the ring about one of ours when a whole second went?"""

STILL_FRAMES = 12
"""A zoom that lasts at least so many frames is drawn in tiles that are kept."""

_NUMBER_ROOM_PX = 15
_NUMBER_STEPS = (1, 2, 5, 10, 20, 50)


@dataclass
class Painter:
    """Paints any of the drawn moments of one race. `placed` holds the texts of the last map.

    companion: the other race of a pair, whose followed are shown on this map too; it has the same camera.
    star (N,): whom the camera follows where that is not simply our team; ours (N,): the rest of it.
    """

    recording: Recording
    view: View = field(default_factory=View)
    follow: str | None = None
    companion: Recording | None = None
    paper: Layout | None = None

    def __post_init__(self) -> None:
        race, view = self.recording.scenario, self.view
        self.followed = followed(self.recording, self.follow)
        self.telling = Telling(self.recording, view, self.follow, self.companion)
        self.units, self.other_m = self.telling.units, self.telling.other_m
        self.moments = Moments(self.recording, self.telling.t_s)
        self.rows = rows_of(self.followed.who)
        usual = Layout(view.width_px, view.height_px, rows=len(self.rows), ribbon=True)
        self.layout = self.paper or usual
        self.our_team = our_runners(self.recording)
        whole_team = bool((self.followed.who == self.our_team).all())
        self.star = np.zeros_like(self.our_team) if whole_team else self.followed.who
        self.ours = self.our_team & ~self.star
        scene, where = Scene(race.strip, race.start_line), self.moments.position_m
        self._seen_m = np.concatenate([where, self.other_m], axis=1)
        self._theirs = np.pad(self.followed.who, (0, self.other_m.shape[1]), constant_values=True)
        whom = Followed(self.followed.label, self._theirs)
        # Of a film that changes its speed the camera takes its time on the screen.
        frame_s = None if view.speed is not None else PACED_FRAME_S * 10.0 / view.frames_per_s
        self.track: Track = direct(
            self._seen_m, self.moments.t_s, whom, scene, self.layout, frame_s
        )
        self._depth_m = box_depth_m(self.recording)
        self._ground = Ground(race.strip, race.start_line, self.layout.scale, self._depth_m)
        self._lettering, self._signs = Lettering(self.layout), self._all_signs()
        groups = (
            group("followed", self.followed.label, self.star, where),
            group("ours", race.our_team or "", self.ours, where),
        )
        self._names = Names(self.layout, [one for one in groups if one])
        self._still = _often(self.track.scale_px_m)
        self.placed: list[Written] = []
        self._plates()

    def __len__(self) -> int:
        return len(self.moments.t_s)

    @property
    def beats(self) -> tuple[Beat, ...]:
        """What is told at named places."""
        return self.telling.beats

    @property
    def spare_beats(self) -> tuple[Beat, ...]:
        """What can be told besides, at round distances."""
        return self.telling.spare_beats

    @property
    def pauses(self) -> frozenset[int]:
        """The frames at which the picture waits."""
        return self.telling.pauses

    def _plates(self) -> None:
        """Where captions and the small picture lie, and when."""
        strip, (t_s, place) = self.recording.strip, (self.moments.t_s, self.moments.position_m)
        people, second = (self._pixels, self._theirs), self.view.frames_per_s
        gate = turn_called(strip, self.view.inset) if self.view.with_inset else None
        self.inset = gate and inset(
            strip, gate, self.layout, people, place, self.window, round(SHORTEST_S * second)
        )
        taken = self.inset.plates if self.inset else ()
        shown = round(SHOWN_CAPTION_S * second)
        self.captions = captions(self.beats, t_s, shown, self.layout, people, taken)

    def _pixels(self, frame: int) -> Array:
        return self.window(frame).pixels(self._seen_m[frame])

    def held_ms(self, frame: int) -> int:
        """How long is a frame shown?"""
        return self.view.frame_ms + (round(1000 * PAUSE_S) if frame in self.pauses else 0)

    def picture(self, frame: int) -> Indices:
        """The picture of one drawn moment, palette entries (H, W)."""
        scale, t_s = float(self.track.scale_px_m[frame]), self.moments.t_s
        later = min(frame + 1, len(t_s) - 1)
        speed = float(t_s[later] - t_s[later - 1]) * self.view.frames_per_s if later else 1.0
        changing = speed if self.view.speed is None else None
        return self.strips.frame(self.body(frame), float(t_s[frame]), scale, changing)

    def body(self, frame: int) -> Indices:
        """Everything between the strips: the map, the ribbon under it, the ledger beside or under them."""
        part = self.map(frame)
        if self.layout.ribbon:
            part = np.vstack([part, self.ribbon_part.picture(frame, self.kinds(frame))])
        if self.layout.side_px:
            ledger = self.ledger.picture(frame, self.layout.side_px, len(part))
            ledger[:, 0] = ink("text")
            part = np.hstack([part, ledger])
        if self.layout.under_px and not self.layout.gap:
            under = self.ledger.picture(frame, part.shape[1], self.layout.under_px)
            under[0] = ink("text")
            part = np.vstack([part, under])
        return part

    @cached_property
    def ribbon_part(self) -> RibbonPart:
        """The unrolled course."""
        who = self.followed.who if self.followed.who.any() else np.ones_like(self.followed.who)
        wide = self.layout.map_width_px
        return RibbonPart(self.recording, self.moments, who, self.layout, wide, self.numbered)

    @cached_property
    def ledger(self) -> Ledger:
        """What each of those followed has lost so far."""
        return Ledger(self.telling.losing, self.rows, self.moments.t_s, self.layout)

    @cached_property
    def levels(self) -> NDArray[np.int8]:
        """How is everybody marked as losing? (F, N)"""
        return self.telling.losing.levels(self.moments.t_s)

    @cached_property
    def strips(self) -> Strips:
        """What stands above and below the map."""
        return Strips(self.layout, self.words())

    def map(self, frame: int) -> Indices:
        """The map of one drawn moment with its texts, palette entries (H, W)."""
        window, taken = self.window(frame), list[Box]()
        small = self.inset.at(frame) if self.inset else None
        told = [caption for caption in self.captions if caption.plate.shows(frame)]
        taken += [plate.box for plate in (small, *(one.plate for one in told)) if plate]
        ground = self._ground.seen(window, tiled=bool(self._still[frame]))
        every = self._every(window)
        chosen = tuple(sign for sign in self._signs if numbered(sign, every))
        self.placed = self._lettering.write(ground, window, chosen, taken)
        part = self._with_runners(ground, window, frame)
        pixel = window.pixels(self.moments.position_m[frame])
        self.placed += self._names.write(part, pixel, taken)
        if self.inset and small:
            inside = self._with_runners(self._small_ground, self.inset.window, frame)
            self.placed.append(self.inset.paste(part, small, inside, self.layout.px(11)))
        self.placed += [write(part, caption, self.layout) for caption in told]
        return part

    @cached_property
    def _small_ground(self) -> Indices:
        assert self.inset
        return self._ground.drawn(self.inset.window)

    def window(self, frame: int) -> Window:
        """What part of the plane does the map show?"""
        scale = float(self.track.scale_px_m[frame])
        x, y = self.track.middle_m[frame] * scale
        wide, high = self.layout.map_width_px, self.layout.map_height_px
        return Window(scale, round(x - wide / 2), round(-y - high / 2), wide, high)

    def kinds(self, frame: int) -> dict[str, Mask]:
        """Who is drawn how? In the order of drawing: ours lie on top, and of ours the followed one."""
        level, plain = self.levels[frame], ~self.ours & ~self.star
        groups = [("other", plain), ("followed", self.star)]
        groups.insert(1 if (self.star & self.our_team).any() else 2, ("ours", self.ours))
        return {
            f"{kind} {lost}" if lost else kind: who & (level == lost)
            for kind, who in groups
            for lost in range(4)
        }

    def _with_runners(self, ground: Indices, window: Window, frame: int) -> Indices:
        bordered, scale = np.pad(ground, BORDER_PX), window.scale_px_m
        pixel = window.pixels(self.moments.position_m[frame])
        others = window.pixels(self.other_m[frame])
        lit = self.rows[self.ledger.lit[frame]] if len(self.rows) else []
        for kind, who in self.kinds(frame).items():
            if kind == "ours" or kind == "followed":
                put_runners(bordered, pixel[lit], self._flash)
            put_runners(bordered, pixel[who], look(kind, scale, self.layout.scale))
            if (
                kind == "other 3"
            ):  # all others are drawn: the other plan lies on them and under those named
                put_runners(bordered, others, look("other_plan", scale, self.layout.scale))
        scales = scale, self.layout.scale
        put_numbered(bordered, pixel, self.kinds(frame), self.numbered, scales)
        return bordered[BORDER_PX:-BORDER_PX, BORDER_PX:-BORDER_PX]

    @property
    def numbered(self) -> NDArray[np.int64]:
        """Who bears the number of a row of the ledger? Nobody where there is only one row."""
        return self.rows if len(self.rows) > 1 else self.rows[:0]

    @property
    def _flash(self) -> Look:
        reach = LIT_PX * self.layout.scale
        return Look((("text", reach), ("followed", reach - self.layout.scale)))

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

    def start_words(self) -> str:
        """In which box do those followed stand?"""
        if not self.followed.who.any() or self.moments.t_s[0] > 0:
            return ""
        boxes = sorted(set(self.recording.roster.box[self.followed.who].tolist()))
        word = "box" if len(boxes) == 1 else "boxes"
        return f"{plain(self.followed.label)} in {word} {', '.join(map(str, boxes[:6]))}"

    def words(self, maps: tuple[str, ...] = ()) -> Words:
        """The texts above and below; `maps`: what the two maps of a pair are called."""
        race = self.recording.scenario
        people = [("ours", race.our_team or "")] if self.ours.any() else []
        people += [("followed", self.followed.label)] if self.star.any() else []
        people += [("other_plan", OTHER_PLAN_WORDS)] if self.companion else []
        people += [("other", "other runners" if people else "runners")]
        people += [(f"other {level}", words) for level, words in enumerate(LOSING_WORDS, 1)]
        whom = self.followed.label if self.followed.who.any() else "the pack"
        footer = "simulation, invented field" if race.invented else "simulation"
        speed = speed_words(self.view.speed)
        return Words(race.name, f"following {whom}", tuple(people), speed, footer, self.units, maps)


def _often(scale_px_m: Array) -> Mask:
    """Which frames have a zoom that lasts? (F,)"""
    _, which, counts = np.unique(scale_px_m, return_inverse=True, return_counts=True)
    return np.asarray(counts[which] >= STILL_FRAMES)
