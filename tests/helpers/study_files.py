"""What two stores must have in common when they hold the same study."""

from __future__ import annotations

from pathlib import Path

COUNTERS = (slice(24, 28), slice(40, 44), slice(92, 96))
"""Where sqlite counts how often the file was written and laid down anew: no content."""


def laid_down(path: Path) -> bytes:
    """A store's bytes but for sqlite's own counts of writes."""
    data = bytearray(path.read_bytes())
    for counter in COUNTERS:
        data[counter] = bytes(4)
    return bytes(data)
