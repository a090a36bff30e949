"""How much of the speed on a track does a surface allow?"""

from __future__ import annotations

from simrun.sources import figure

SURFACES = ("road", "grass", "dirt", "boardwalk", "sand", "mud")


def footing_share(surface: str) -> float:
    """The share of the level-road speed that this surface allows at equal effort (assumed)."""
    return figure(f"footing.{surface}_share").value
