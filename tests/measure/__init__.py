"""What the book costs, as ratios against a bare floor measured in the same run.

Read `floor`, `sizes` and `rounds`, then any measure; `databases`, `grown` and `scripts` make what
they measure on. `python -m tests.measure` runs them all.
"""
