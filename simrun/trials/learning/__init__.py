"""What do counts and split times say of the inputs that nobody has measured?"""

from __future__ import annotations

TABLE_RACES = 700
"""Learnt is from so many races: out of 500 ranks are uneven, 1000 take longer than they bring. See
tests/validation/learning/README.md."""
