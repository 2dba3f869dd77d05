"""The hole and its layers, its edges and the lawn beside it."""
