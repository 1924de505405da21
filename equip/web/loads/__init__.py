"""The pages of Loads, a module each.

Read `loads` (the list), `load` (one of them) and `logs`; `address` finds what an address names.
Then `sheet` (the sheet of the day) and what comes with a load: `evidence` (photo, second reading),
`indicators`, `bath`. `layouts` and `layout_form` describe a machine's log, `rejudge` judges stored
cycles again.
"""
