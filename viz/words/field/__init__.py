"""What is said in the yard: in the trench, at its steps, and of what is taken away."""
