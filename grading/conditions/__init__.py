"""What paving stands in and what stands on it: frost, load, backfill, outlets, things, joins."""
