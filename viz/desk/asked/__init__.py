"""What the page asks by name, beside changes and looks."""
