"""Which published numbers does the package use, and where does each come from?

>>> from simrun.sources import figure
>>> figure("runner.following_time_s").value
0.45
"""

from simrun.sources.library import figure, figures, reference, references
from simrun.sources.records import Figure, Reference

__all__ = ["Figure", "Reference", "figure", "figures", "reference", "references"]
