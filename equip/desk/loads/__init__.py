"""A load from open to released.

Read `loads` (opened, filled, started), `end` (its evidence judged) and `release` (every reason
why not). Beside them stands the evidence: `second_reader` (typed values read again),
`indicators`, `stages` (corrected by hand), `soak_acts` (a bath timed and judged), and
`watched_folder`, which takes in the logs that machines write.
"""
