"""One load from open to released: its facts folded, and why it may not be released."""
