"""Where every drop goes, and what is to be mended where it goes wrong."""
