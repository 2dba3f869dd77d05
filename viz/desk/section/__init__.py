"""The section of the page: cuts, and the bases side by side at one place."""
