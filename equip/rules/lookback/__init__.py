"""Who may have been exposed to whom, and what a look-back asks next.

Read `sweep` first: one pass in order of time. `hazards` says what a step stops, `carried` whom
an item may carry, `reach` what a question must look at, `doubt_scope` what bad evidence puts in
doubt. `case_stages` folds a look-back, `missing_answers` ranks what would settle most patients,
`merkle` makes the short proofs of a proof file.
"""
