"""Cycles without a log: read `fields` (what was read off the machine), `judge`, then `water`."""
