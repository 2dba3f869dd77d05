"""The page of `fallaway open`: the whole job of a yard in a browser, on this machine alone."""
