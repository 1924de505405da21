"""The Bench: read `bench`; `session` is the checks ahead of a session, `hurt` an injury."""
