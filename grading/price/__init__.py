"""From what a job costs to its price: sums, options, unit prices, payments, and changes."""
