"""Two plans of one yard side by side: what was written differently, what comes of it, and why."""
