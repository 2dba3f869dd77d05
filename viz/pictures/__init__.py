"""Stills and films of a scene, and the process that draws them."""
