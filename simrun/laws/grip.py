"""How do braking and swerving share the grip of two feet?"""

from __future__ import annotations

import math

from simrun.base.compiled import compiled


@compiled
def shared_grip(
    along: float,
    aside: float,
    acceleration_limit: float,
    braking_limit: float,
    sideways_limit: float,
) -> float:
    """The share of a wanted acceleration that one grip allows: an ellipse of the three limits, 1 at most."""
    limit = acceleration_limit if along >= 0.0 else braking_limit
    used = math.sqrt((along / limit) ** 2 + (aside / sideways_limit) ** 2)
    return 1.0 if used <= 1.0 else 1.0 / used
