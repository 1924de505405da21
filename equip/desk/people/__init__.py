"""People assessed, and asked about when they act."""
