"""The steps of the job sheet: each reads what is seen, and says it in blocks."""
