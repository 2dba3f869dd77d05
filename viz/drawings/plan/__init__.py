"""Drawings seen from above, a module a sheet."""
