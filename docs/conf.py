"""How the site is built: `make site` reads docs/ and writes out/site, which opens from a disk with no network.

Sphinx reads these names. Every page is Markdown that a plain git host shows as well; notebooks are Markdown too, and
are executed while the site is built.
"""

from __future__ import annotations

from typing import Any

from pygments.lexers.special import TextLexer

project = "clearance"
author = "the clearance project"
copyright = "the clearance project, Apache-2.0"
language = "en"

extensions = ["myst_nb"]
highlight_language = "text"
exclude_patterns = ["schemas", "site"]

myst_heading_anchors = 4
"""Links to a heading go by its words, as on a git host."""

nb_execution_mode = "force"
nb_execution_timeout = 120
nb_execution_raise_on_error = True
nb_execution_show_tb = True
nb_merge_streams = True
nb_ipywidgets_js: dict[str, dict[str, str]] = {}
"""No widgets: their scripts would come from the net."""

html_theme = "furo"
html_title = "clearance"
html_static_path = ["site"]
html_css_files = ["site.css"]
html_copy_source = False
html_show_search_summary = False
"""A summary is fetched from the page found, which a browser does not allow from a disk."""
html_show_sphinx = False
html_theme_options = {"footer_icons": []}
"""The theme's own fonts are the reader's system fonts."""


def setup(app: Any) -> None:
    """Commands are shown plain: `in` is an inch here, and no word of the shell."""
    app.add_lexer("sh", TextLexer)
    app.add_lexer("console", TextLexer)
