"""The pages of Due.

Read `due` (what falls due, and what was done; its form in `duty_form`), then `outlook` (a month,
twelve months) and `work`. `calibration` (its form in `calibration_form`) and `electrical` keep
their reports by `certificate_file`.
"""
