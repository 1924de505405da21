"""The pages of Loads: loads, daily tests, evidence, indicators, baths, logs."""
