"""How a yard gets measured into the page: spots, rod readings, files, and what becomes of shots."""
