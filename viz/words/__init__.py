"""Every sentence that two outputs say, made once."""
