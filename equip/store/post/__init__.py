"""Word that leaves the clinic: what waits, who gets it, what each reader was told."""
