"""What leads water away: drains in the paving, underdrains, extensions of downspouts, dry wells."""
