"""What the step "Yard" is made of: each table of the site as a row that opens to its fields."""
