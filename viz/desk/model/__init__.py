"""The model that turns: bodies of a plan, made anew after every change and sent as what moved."""
