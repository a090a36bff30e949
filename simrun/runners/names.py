"""What are invented runners called?"""

from __future__ import annotations

import numpy as np

from simrun.base.errors import BadInput, Problem

_SYLLABLES = {
    "given begin": "Ar Bel Cor Dav El Fen Gar Hol Il Jor Kel Lin Mar Nes Or Per Ros Sel Tam Ul",
    "given end": "o a en is",
    "family begin": (
        "Ald Brack Cald Dun Esk Fos Grim Harr Ing Kirk "
        "Lang Mel Nor Oak Pend Quar Rush Stain Thorn Wend"
    ),
    "family end": "ley by combe er holt wick",
}


def _built(which: str) -> tuple[str, ...]:
    """Every beginning with every end."""
    begins, ends = _SYLLABLES[f"{which} begin"], _SYLLABLES[f"{which} end"]
    return tuple(begin + end for begin in begins.split() for end in ends.split())


GIVEN = _built("given")
FAMILY = _built("family")
MOST = len(GIVEN) * len(FAMILY)


def invented_names(count: int, rng: np.random.Generator) -> tuple[str, ...]:
    """`count` different invented names, built of syllables; more of them keep those before.

    Any likeness to a living person is chance. Raises BadInput for more than `MOST`.
    """
    if not 0 <= count <= MOST:
        raise BadInput(Problem("runners", str(count), f"0 to {MOST} invented names"))
    chosen = rng.permutation(MOST)[:count]
    return tuple(f"{GIVEN[k % len(GIVEN)]} {FAMILY[k // len(GIVEN)]}" for k in chosen)
