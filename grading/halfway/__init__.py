"""A job that is half done: what is left of it on every base."""
