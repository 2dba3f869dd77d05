"""What is wished of a finish, and the finish that is best of those that meet it."""
