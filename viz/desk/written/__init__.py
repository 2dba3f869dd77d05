"""What is written: the document of a site, its journal, what can be taken back, and its files."""
