"""What the person wrote: the tables of a site file, the house and its walls."""
