"""Printed sheets, PDF: the one that the homeowner keeps, and the one that the crew works from."""

from viz.sheets.write import KINDS, check_words, write_sheets

__all__ = ["KINDS", "check_words", "write_sheets"]
