"""Due tasks: set, met, listed, looked at twelve months ahead; work; certificates.

Read `duties` (how they stand on a day), `due_list`, `duty_acts`, `work_acts`.
"""
