"""Many yards planned in one run: found, planned apart from one another, kept, told in one table."""
