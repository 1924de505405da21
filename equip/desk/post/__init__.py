"""Reminders: what is due, told in letters and calendars.

Read `tick` first: it writes each letter once. `due_reminders` says which duties are within reach,
`readers` who is told, `timings` what one duty has of its own; `send` delivers, `recheck` withdraws
what was done meanwhile; `calendars` tell the same to people's own calendars.
"""
