"""Whether a cycle did its work: logs and readings of sterilisers, washers and baths, judged.

Read `heat` (saturation and lethality) and `runs` (stretches of a log), then one family:
`steam` and `washer` judge logs, `typed` judges values read off a display. `matching` ties a log
to its load, `boundaries` and `measured_stages` name the stages of any cycle, `reference_cycle`
and `load_size` hold it beside earlier ones, `behind` and `figures` name reasons and figures.
"""
