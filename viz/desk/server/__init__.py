"""The server of the page: who comes in, where messages meet, and the worker that plans."""
