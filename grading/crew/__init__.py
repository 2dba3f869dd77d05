"""What a crew reckons with: its rates, prices, materials, card and base systems."""
