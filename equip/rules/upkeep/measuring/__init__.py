"""Readings against limits: calibrations and electrical safety tests.

Read `decision_rule` (a reading and its tolerance), `probability`, `calibration_series` (an
item's calibrations in order), `drift`, `intervals` and `electrical`.
"""
