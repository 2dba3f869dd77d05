"""What is ordered: the items of the order list, by the name that they have in code and in files."""

TITLES = {
    "pavers": "pavers",
    "joint-sand": "joint sand",
    "bedding-sand": "bedding sand",
    "chips": "chip bedding",
    "dense-graded": "dense-graded base",
    "open-graded": "open-graded base",
    "panels": "panels",
    "fixings": "fixings",
    "screws": "panel screws",
    "geotextile": "geotextile",
    "underdrain": "underdrain",
    "waterproofing": "waterproofing",
    "edging": "edge restraint",
    "spikes": "spikes",
    "sod": "sod",
}
"""Everything that is ordered, in the order of the list."""
