"""What falls due, and when.

Read `due` (due days that do not drift; one judged for the command line in `due_check`), `pace`
and `forecast` (counts and twelve months ahead), `reminders`, `meters`, `work`, then `words`.
`units` converts certificates; `measuring` holds calibrations and electrical tests.
"""
