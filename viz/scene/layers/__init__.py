"""The layers of one base as they lie: stacked, cut away, with pockets and bases of things."""
