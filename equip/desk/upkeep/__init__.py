"""Due tasks: set, met, listed, looked at twelve months ahead; work; certificates.

Read `duties` (how they stand on a day), then `due_line`, `due_list` and `due_json`, then
`duty_acts`, `meter_acts` and `work_acts`. `endings` are last days that are no task, `late_use` what
was used meanwhile, `pace` and `outlook` look ahead, `certificates` are looked at before they are
kept. `measuring` is calibrations and electrical tests.
"""
