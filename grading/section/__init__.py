"""Vertical cuts through what is designed: which solids a line meets, and at what level."""
