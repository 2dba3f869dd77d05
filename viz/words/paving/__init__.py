"""What is paved and built beside it, in words: beds, edges, falls, structures."""
