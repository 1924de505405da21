"""What makes an item unfit today beyond its own facts.

Read `readiness` first: the one place that puts every reason together, whoever asks. `session` is
the checks ahead of a session, `served_by` the machine it is used with, `due_days` an overdue task
that stops it (with `closed_days`, the weekends and holidays). `out_of_use` is what a check of it
says in the same breath.
"""
