"""Drawings cut through, a module a part."""
