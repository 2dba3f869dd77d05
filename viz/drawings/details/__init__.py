"""Details: at doors, between areas, at edges, joins and things."""
