"""Steam cycles: read `judge`, then `log` (what it holds), `own_limits` and `reasons`.

`parts` finds the stages of a cycle for the page, and the boundaries that may be corrected.

The holding time: found in `log`, judged in `judge`, put in words in `reasons`. How long it has to
be is the rule of each programme that ends in “.hold”, in the TOML files of the rule book.
"""
