"""Base systems side by side by what they cost, and where that turns."""
