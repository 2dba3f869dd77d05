"""The ground found in a scan that is larger than memory."""
