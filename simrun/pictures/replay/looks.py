"""What does a landmark look like from the course? Read out of its name: nothing else is known of it."""

from __future__ import annotations

import re

LOOKS = {
    "tree": "oak elm ash willow thorn alder birch pine poplar beech lime chestnut maple yew tree",
    "trees": "willows oaks elms pines poplars trees orchard copse wood grove spinney forest",
    "hedge": "hedge hedgerow hedges bush bushes bracken gorse",
    "building": "house barn mill tent kiln hut shed church pavilion stable farm cottage school lodge",
    "mast": "pump mast tower chimney windmill pole flagpole pylon",
    "water": "pond ditch brook stream lake mere pool ford",
    "low": "wagon trough beehives beehive millstone well bench stone boulder log bales cart stump",
}
"""Everyday words; whatever they do not name stands there as a post with a board."""

_BY_WORD = {word: look for look, words in LOOKS.items() for word in words.split()}


def look_of(name: str) -> str:
    """One of LOOKS by the last word that tells, "pump house" is a building; else "post".

    Check: tests/unit/pictures/test_page_data.py.
    """
    words = re.findall(r"[a-z]+", name.lower())
    return next((_BY_WORD[word] for word in reversed(words) if word in _BY_WORD), "post")
