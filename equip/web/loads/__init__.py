"""The pages of Loads.

Read `loads`, then `sheet` (the sheet of the day) and what comes with a load: `evidence` (photo,
second reading), `indicators`, `bath`. `layouts` and `layout_form` describe a machine's log,
`rejudge` judges stored cycles again.
"""
