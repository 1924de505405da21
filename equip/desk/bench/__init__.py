"""What a scan does.

Read `scanning` (a scan in its stream) and `dispatch` (who handles it), then the handler: `uses`,
`override`, `mishaps`, `steps`, `timed_steps` and the `_scans` of loads, lots, soaks and session
checks. `in_hand` puts what the bench holds in words.
"""
