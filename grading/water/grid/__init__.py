"""The surface that water sees, on a grid, and which way it runs there."""
