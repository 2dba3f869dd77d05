"""Which base, edge and joint, with reasons and what each takes."""
