"""Calibrations and electrical safety tests: judged, written down, held against due tasks.

Read `calibrations`, `calibration_history`, `electrical_tests`, then `in_force` (which still hold).
"""
