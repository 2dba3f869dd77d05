"""What a homeowner reads of a plan where the crew has a sentence of its own for the same thing."""
