"""The price of a job and of a change, on paper."""
