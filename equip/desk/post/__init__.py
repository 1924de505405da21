"""Reminders, letters and calendars.

Read `tick` (which letters are written, each once), `due_reminders`, `send` and `recheck`
(withdrawn if it was done meanwhile). `house_letter` is the daily one with the seals. `readers` and
`timings` say who is written to and when; `calendars` and `beats` are the rest of a beat.
"""
