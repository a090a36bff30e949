"""What part of a race was asked to be shown, and how?"""

from __future__ import annotations

from simrun.answers.kind import Asked
from simrun.pictures.ink.view import View


def view_of(asked: Asked) -> View:
    """The view of these options, as of `answers.options.PICTURE`."""
    return View(
        from_s=vars(asked)["from"],
        to_s=asked.to,
        speed=asked.speed,
        length_s=asked.length,
        width_px=asked.size[0],
        height_px=asked.size[1],
        units=asked.units,
        pauses=not asked.no_pauses,
        inset=asked.inset,
        with_inset=not asked.no_inset,
    )
