"""The pages of History: the logbook, look-backs, exposures, proof files."""
