"""A site folder read, with all that is wrong or odd in it."""
