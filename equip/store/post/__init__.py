"""Word that leaves the clinic.

Read `agenda` (what waits, claimed and sent), `letters` (what becomes of one that waits),
`recipients` (who is written to and what each was told) and `calendars`.
"""
