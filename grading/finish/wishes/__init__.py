"""What is asked of a finish, each as bounds on its unknowns and in words."""
