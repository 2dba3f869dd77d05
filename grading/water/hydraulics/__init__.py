"""What channels, pipes, grates and dry wells carry and hold: formulas, none of a site."""
