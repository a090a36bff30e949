"""Lets the tests import their helpers as `tests.helpers`."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
