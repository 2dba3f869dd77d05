"""What a drawing is recorded on, how its words are placed, and how it is played to a file."""
