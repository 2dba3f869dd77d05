"""What steps of the job sheet share: the line of five, offers, what a crew reckons with."""
