"""Sections and plans to scale: a recording in metres, laid on paper, played to SVG and PNG."""
