"""Facts to tables: one small fold for each capability.

Read `project` first: it hands each fact to the function that folds its kind, by the tables of the
wings, then tells all of them to `items`, `loads`, `bench` (uses) and `lookback`. `contacts` and
`exposures` keep who met whom; `rebuild` folds everything again and compares.
"""
