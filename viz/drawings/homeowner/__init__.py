"""What the homeowner's paper shows of the job, at true scale: cut, from the lawn, what is under."""
