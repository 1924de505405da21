"""Facts to tables: one small fold for each capability.

Read `project` first: it hands each fact to the function that folds its kind, by the tables of the
wings, then tells all of them to `items`, `loads`, `bench` (uses) and `lookback`. `contacts` keeps
what happened to each item that bears on who met whom, `resting` what its gates rest on, `met` reads
it as a question does; `exposures` keeps what follows, no wider than `changed` says. `rebuild` folds
everything again and compares.
"""
