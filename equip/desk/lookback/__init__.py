"""Who may have been exposed: the question, its answer, what is always on, the logbook.

Read `exposure_question`, `exposure_answer` (as JSON in `exposure_json`), then `exposed_now`.
`history` is the logbook of anything, with `use_marks` beside its uses and `moves`, scans that were
moved to another patient. `injuries` is somebody
hurt, `injury_sheet` its paper, `gate_words` a decontamination in words. A look-back from alarm to
close is in `cases`, one exposure drawn in `path`, an answer with its evidence in `proof`.
"""
