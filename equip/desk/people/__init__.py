"""People assessed, and asked about when they act: all of it in `competence`."""
