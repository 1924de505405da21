"""Calibrations and electrical safety tests: judged, written down, held against due tasks."""
