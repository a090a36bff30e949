"""What do counts and split times say of the inputs that nobody has measured?"""

from __future__ import annotations

TABLE_RACES = 500
"""Learnt is from so many races. Twice as many tell splits no better: tests/validation/learning/README.md."""
