"""Sheets for the yard: stakes, what was built, and its sign-off."""
