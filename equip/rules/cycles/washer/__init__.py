"""Hot-water disinfection: read `judge`, then `a0`, `log`, `wet` and `own_limits`.

`parts` finds the stages of a cycle for the page, and the boundaries that may be corrected.
"""
