"""Who is competent for what on a day."""
