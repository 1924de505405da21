"""What the ledger does not hold and cannot rebuild.

`vault` keeps patient references under the `keys`, and `patient_index` finds them again; `people`
passwords and sessions; `acts` each answer as it was given; `files` photos and logs by their hash;
`counters` the next tag numbers.
"""
