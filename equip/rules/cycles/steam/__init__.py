"""Steam cycles: read `judge`, then `log` (what it holds), `own_limits` and `reasons`.

`parts` finds the stages of a cycle for the page, and the boundaries that may be corrected.
"""
