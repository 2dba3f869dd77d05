"""Outlines with arcs, planes and facets, triangulated surfaces, edges that lie together."""
