"""The sheet that a homeowner looks at: the sentences of their paper, and nothing to change."""
