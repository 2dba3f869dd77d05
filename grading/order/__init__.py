"""What is laid, ordered, moved, worked and paid."""
