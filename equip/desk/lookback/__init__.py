"""Who may have been exposed: the question, its answer, what is always on, the logbook.

Read `exposure_question`, `exposure_answer`, `exposed_now`. A look-back from alarm to close is in
`cases`, one exposure drawn in `path`, an answer with its evidence in `proof`.
"""
