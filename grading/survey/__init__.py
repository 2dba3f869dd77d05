"""How a yard was measured: levels as booked, places by tape, every source in one table."""
