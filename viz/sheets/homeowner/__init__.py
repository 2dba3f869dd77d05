"""The paper of who pays for it, a part of it to a file."""
