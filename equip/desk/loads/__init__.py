"""A load from open to released.

Read `loads` first. Beside it stand the evidence: `second_reader` (typed values read again),
`indicators`, `stages` (corrected by hand), `soak_acts` (a bath timed and judged), and
`watched_folder`, which takes in the logs that machines write.
"""
