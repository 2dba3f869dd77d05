"""What is ordered: the items of the order list, by the name that they have in code and in files."""

TITLES = {
    "pavers": "pavers",
    "joint-sand": "polymeric sand",
    "plain-joint-sand": "plain jointing sand",
    "joint-compound": "jointing compound",
    "joint-chips": "chips for the joints",
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
    "border": "border units",
    "concrete": "concrete of the edge",
    "wall-units": "wall units",
    "caps": "wall caps",
    "glue": "glue",
    "sod": "sod",
}
"""Everything that is ordered, in the order of the list."""
