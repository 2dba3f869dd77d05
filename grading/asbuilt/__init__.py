"""What was built, held against the design: levels, falls away from the house, flatness."""
