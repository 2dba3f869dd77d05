"""Point files and scans, made into a table of spots that a site takes."""
