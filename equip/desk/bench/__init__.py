"""What a scan does at the Bench: what it says, who handles it, what it answers.

Read in this order: `scanning` (a scan in its bench's stream, one transaction), `dispatch` (what it
names: an act, a tag, a patient, an answer), `handlers` (which function each act is bound to; the
acts themselves are the table in `equip/acts.py`). Then the handlers: `uses` and `override` (asked,
used, used in spite of a no), `steps` and `timed_steps` (what “inspect pass” or “disinfect” comes
to), with `way_on` (the next step in words), `packing`, `load_scans`, `release_scans`, `soak_scans`
and `lot_scans`; `counts`, which asks around those for the count of a set, and `missing_pieces`;
`whose` (what is scanned after “finish”), `shared_machines` (what is used with an instrument);
`session_scans` over `session_acts` and `session_today`, with `session_rooms` (whose session ends)
and `unfinished` (what is left then), `mishaps` (marks, the wrong patient) and `failed_indicator`;
`earlier` (what is told late); `taking_back` (undo) over `undo_list` (what may be taken back, in
words) and `left_behind` (what goes with it, what stays opened). `exposed_answer` adds what an
exposure makes of an answer; `in_hand` puts what the bench holds in words, `doing` and `patient_end`
parts of that. Ahead of a scan: `behind` (was its screen up to date), `fired_twice`, `lapses` (what
ran out since the last one); `take_up` is the act that works on all the same.
"""
