"""Facts to tables: one small fold for each capability.

Read `project` first: it hands each fact to the folds it concerns. `contacts` and `exposures`
keep who met whom; `rebuild` folds everything again and compares.
"""
