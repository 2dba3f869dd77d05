"""The layers in three dimensions: watertight solids, a scene of them, and its pictures."""
