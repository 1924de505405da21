"""Tomorrow's list played ahead: are there enough clean instruments?

Read `day_list` (the list as it is typed), then `round` (what one round of reprocessing is made
of), `play` (the list and its rounds, minute by minute) and `advice` (what the outcome asks for).
"""
