"""Each fact as one line of the logbook.

Read `lines` first: it finds the words for a fact in the families beside it. `names` says how
tags are shown; `bench`, `counts`, `loads`, `lookback`, `upkeep` and `clinic` hold the sentences.
"""
