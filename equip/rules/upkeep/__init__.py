"""What falls due, and when.

Read `due` (due days that do not drift), `pace` and `forecast` (counts and twelve months ahead),
`reminders`, `meters`, `work`, then `words`. `measuring` holds calibrations and electrical tests.
"""
