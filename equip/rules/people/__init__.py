"""Who is competent for what on a day, and who may supervise: all of it in `competence`."""
