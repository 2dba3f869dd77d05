"""The yard on a phone: the trench, files to take away, shots kept and given back."""
