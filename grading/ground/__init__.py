"""The survey as a surface: its shots judged, breaklines kept, topsoil under it."""
