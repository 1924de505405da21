"""The demonstration: an invented clinic, lived through the acts that people call.

Read `serve`, then `life` (the 120 days). `mornings` makes each day's checks, `water` keeps
the irrigator, `indicators` reads the indicators and spore tests, `cycles` computes logs of cycles
that never ran.
"""
