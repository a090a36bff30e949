"""How Sphinx builds the site. Nothing is fetched: no other site's index, no font, no script."""

from simrun.base.version import VERSION

project = "simrun"
version = release = VERSION
extensions = ["myst_parser", "sphinx.ext.autodoc"]
html_theme = "alabaster"
html_theme_options = {"description": "What a starting box and a line cost", "page_width": "1200px"}
html_show_sphinx = False
autodoc_typehints = "description"
autodoc_typehints_format = "short"
autodoc_member_order = "bysource"
myst_heading_anchors = 3
# The README's links lead into the repository, not into the site.
suppress_warnings = ["myst.xref_missing", "myst.header"]
exclude_patterns = ["README.md", "shared/**/README.md"]
