"""The plan of the page: the yard as it is written, and what is asked of it while it is drawn."""
