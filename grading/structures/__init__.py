"""What is built beside and below the paving: what holds a raised edge, steps, drains, bases."""
