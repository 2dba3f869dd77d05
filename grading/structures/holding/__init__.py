"""What holds a raised edge of paving: walls of blocks, slopes of grass, curbs, shoulders, steps."""
