"""The Bench: read `bench`; `checks` are those ahead of a session, `hurt` an injury."""
