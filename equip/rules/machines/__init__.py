"""Periodic tests of machines, and the indicators and spore tests that go with their loads.

Read `sheet` (the tests a machine needs at the start of a day), `leak_and_spores` (one test
judged), `indicators`, `spores` (a machine's spore tests over time) and `control_charts`.
"""
