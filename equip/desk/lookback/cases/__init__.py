"""A look-back from alarm to close: read `case_acts`, `case_evidence`, `case_page`."""
