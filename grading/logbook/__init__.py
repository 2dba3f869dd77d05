"""What was recorded on a site: dated, numbered, each holding the one before; never overwritten."""
