"""Pictures, drawings, the page and the command: everything that shows a plan."""

VERSION = "0.1.0"
"""Of the program."""
