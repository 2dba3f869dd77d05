"""A site as it is designed: the plan of each area, and where its points and levels are."""
