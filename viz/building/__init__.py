"""How it is built, step by step, on one base and on several in step."""
