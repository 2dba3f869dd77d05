"""What stands as data: limits, base systems, soils, edges and joints, each with its source."""
