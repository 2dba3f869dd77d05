"""Pictures, drawings, the page and the command: everything that shows a plan."""
