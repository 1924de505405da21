"""A look-back from alarm to close.

Read `case_acts` (each step), `case_evidence` (what evidence puts in doubt; of spore tests,
`spore_doubt`), `exposed_list` (the list, kept and compared) and `case_page`. `missing_answers`
ranks the open questions; `drills` and `rehearsal` are for practice.
"""
