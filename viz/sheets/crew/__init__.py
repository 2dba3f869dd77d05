"""The crew's sheet, a part of it to a file."""
