"""Machines beyond their loads: daily tests, spore tests, soak baths, lots, solutions."""
