"""The page: one file that turns in a browser, with no connection to anything."""

from viz.page.html import write_page

__all__ = ["write_page"]
