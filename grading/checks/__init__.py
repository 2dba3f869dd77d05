"""Every rule held against what was found."""
