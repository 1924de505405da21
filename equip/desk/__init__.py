"""One module for each thing a person wants done: load, decide, append."""
