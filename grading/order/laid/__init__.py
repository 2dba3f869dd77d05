"""Units laid over the outline of an area: pavers and panels."""
