"""From the plan back to the yard: stakes with tapes and rods, strings with their marks."""
