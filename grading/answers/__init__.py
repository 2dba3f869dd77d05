"""What a whole plan answers: the decision card, the site as one."""
