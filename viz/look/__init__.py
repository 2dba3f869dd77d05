"""Materials and the bands of depth: the tones of all that is drawn."""
