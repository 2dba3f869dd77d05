"""The first screen, of a plan, of a survey that does not fit, and of many yards."""
