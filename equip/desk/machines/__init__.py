"""Machines beyond their loads, and the chemistry.

Read `sheets` (the sheet of the day), then `spores` (spore tests that wait). `lots` come in and go
out, `baths` are filled with one, `contact_times` run, `mixing` works out a solution.
"""
