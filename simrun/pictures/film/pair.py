"""Two races side by side: the same people, clock and camera, another plan.

Each map shows with hollow diamonds where those followed are in the other race at the same second.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from simrun.base.errors import BadInput, Problem
from simrun.pictures.film.inset import turn_called
from simrun.pictures.film.ledger import PairLedger
from simrun.pictures.film.painter import Painter
from simrun.pictures.ink.colours import Indices, ink
from simrun.pictures.ink.lettering import plain
from simrun.pictures.ink.panels import Layout
from simrun.pictures.ink.strips import Strips, Words
from simrun.pictures.ink.view import View
from simrun.pictures.story.moments import followed
from simrun.pictures.story.plans_apart import gap_of
from simrun.pictures.story.script import Beat
from simrun.pictures.story.telling import Telling
from simrun.scenario.changes.differences import differences
from simrun.state.recording import Recording


class Pair:
    """Paints any of the drawn moments of two races. Raises BadInput where they are no pair."""

    def __init__(
        self,
        left: Recording,
        right: Recording,
        view: View | None = None,
        follow: str | None = None,
        paper: Layout | None = None,
    ) -> None:
        check_pair(left, right, follow)
        self.view = view or View()
        wide, high = self.view.width_px, self.view.height_px
        paper = paper or Layout(wide, high, maps=2, ribbon=True, gap=True)
        self.left = Painter(left, self.view, follow, right, paper)
        self.right = Painter(right, self.view, follow, left, paper)
        self.layout, self.moments, self.pauses = paper, self.left.moments, self.left.pauses
        self.names = plan_words(left, right)

    @property
    def beats(self) -> tuple[Beat, ...]:
        """What is told, with the words of both races."""
        return self._both(self.left.beats, self.right.beats)

    @property
    def spare_beats(self) -> tuple[Beat, ...]:
        """What can be told besides, at round distances."""
        return self._both(self.left.spare_beats, self.right.spare_beats)

    def _both(self, left: Sequence[Beat], right: Sequence[Beat]) -> tuple[Beat, ...]:
        (one, other), found = self.names, []
        for beat, there in zip(left, right, strict=True):
            place = f"in place {there.place.rpartition(' in place ')[2]}"
            more = f"{other}: {there.place if beat.is_the_end else place}"
            gap = "" if beat.is_the_end else beat.see
            found.append(replace(beat, place=f"{one}: {beat.place}", see=more, lost=gap))
        return tuple(found)

    def __len__(self) -> int:
        return len(self.left)

    def held_ms(self, frame: int) -> int:
        """How long is a frame shown?"""
        return self.left.held_ms(frame)

    def picture(self, frame: int) -> Indices:
        """The picture of one drawn moment, palette entries (H, W)."""
        scale = float(self.left.track.scale_px_m[frame])
        return self.strips.frame(self.body(frame), float(self.left.moments.t_s[frame]), scale)

    def body(self, frame: int) -> Indices:
        """Everything between the strips: either plan's map with its ribbon, under them what they lost."""
        part = self._halves([side.body(frame) for side in (self.left, self.right)])
        if not self.layout.gap:
            return part
        under = self.ledger.picture(frame, self.layout.width_px, self.layout.under_px)
        under[0] = ink("text")
        return np.vstack([part, under])

    @cached_property
    def ledger(self) -> PairLedger:
        """What either plan has lost, and how far they are apart."""
        sides = (self.left, self.right)
        losings = [side.telling.losing for side in sides]
        who, t_s = self.left.followed.who, self.moments.t_s
        far = [np.nan_to_num(losing.place_m(t_s)[:, who]).mean(axis=1) for losing in losings]
        ledgers = (self.left.ledger, self.right.ledger)
        return PairLedger(
            ledgers, gap_of(losings[0], losings[1], who), np.minimum(far[0], far[1]), self.names
        )

    def map(self, frame: int) -> Indices:
        """Both maps with a bar between them."""
        return self._halves([self.left.map(frame), self.right.map(frame)])

    def _halves(self, parts: list[Indices]) -> Indices:
        bar = (len(parts[0]), self.layout.width_px - 2 * self.layout.map_width_px)
        return np.hstack([parts[0], np.full(bar, ink("text"), dtype=np.uint8), parts[1]])

    @cached_property
    def strips(self) -> Strips:
        """What stands above and below the maps."""
        return Strips(self.layout, self.words())

    def words(self) -> Words:
        """The texts above and below."""
        return self.left.words(self.names)

    def start_words(self) -> str:
        """In which box do those followed stand?"""
        one, other = self.left.start_words(), self.right.start_words()
        return one if one == other else f"{one}; {other}"


@dataclass(frozen=True)
class Told:
    """What is filmed: the race, the one beside it if any, whom the camera follows, what is shown."""

    recording: Recording
    beside: Recording | None = None
    follow: str | None = None
    view: View = field(default_factory=View)

    def show(self, view: View, paper: Layout | None = None) -> Painter | Pair:
        """The pictures of this view, one race or two."""
        if self.beside:
            return Pair(self.recording, self.beside, view, self.follow, paper)
        return Painter(self.recording, view, self.follow, paper=paper)

    @property
    def telling(self) -> Telling:
        """What is told of it."""
        return Telling(self.recording, self.view, self.follow, self.beside)

    def check(self, films: bool = True) -> None:
        """Can it be shown? Raises BadInput before anything is drawn. films: or on a page alone?"""
        followed(self.recording, self.follow)
        if films and self.beside:
            check_pair(self.recording, self.beside, self.follow)
        if films and self.view.with_inset:
            turn_called(self.recording.strip, self.view.inset)
        if films:
            _ = self.telling.t_s


def check_pair(left: Recording, right: Recording, follow: str | None) -> None:
    """Raises BadInput, in one line, where two recordings cannot be shown side by side."""
    if left.seed != right.seed:
        found = f"a race of seed {right.seed} beside one of seed {left.seed}"
        raise BadInput(Problem("beside", found, "the same seed is needed: the same people"))
    if not _same_ground(left, right):
        allowed = "the same course and start line are needed"
        raise BadInput(
            Problem("beside", f"{right.scenario.name!r} is run on other ground", allowed)
        )
    if left.roster.name != right.roster.name:
        found = f"{len(right.roster)} runners, not the {len(left.roster)} of the first race"
        found = found if len(right.roster) != len(left.roster) else "other runners"
        raise BadInput(Problem("beside", found, "the same field is needed"))
    whom = [followed(race, follow).who for race in (left, right)]
    if not whom[0].any() or not whom[1].any():
        allowed = "side by side needs a team or a runner to follow"
        raise BadInput(Problem("follow", "nobody", allowed))


def _same_ground(left: Recording, right: Recording) -> bool:
    one, other = left.strip, right.strip
    pairs = [(one.left_m, other.left_m), (one.right_m, other.right_m)]
    pairs.append((left.scenario.start_line.line_m, right.scenario.start_line.line_m))
    return all(a.shape == b.shape and np.allclose(a, b, atol=0.01) for a, b in pairs)


def plan_words(left: Recording, right: Recording) -> tuple[str, str]:
    """In what do two plans differ? In words for each; their names where nothing was changed."""
    words: dict[tuple[str, str, str], str] = {}
    for key, *values in differences(left.scenario, right.scenario):
        same = (key[-1], values[0], values[1])
        # What several people are told alike is said once.
        words[same] = key[-1] if same in words else " ".join(key)
    if not words:
        return plain(left.scenario.name), plain(right.scenario.name)
    one = ", ".join(f"{word} {value}" for (_, value, _), word in words.items())
    other = ", ".join(f"{word} {value}" for (_, _, value), word in words.items())
    return plain(one), plain(other)
