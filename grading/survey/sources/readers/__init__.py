"""Each format of points and of scans, read."""
