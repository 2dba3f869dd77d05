"""Charts: what a fall, a base and deeper topsoil cost."""
