"""A scene of solids, lines and labels, which no renderer has drawn yet."""
