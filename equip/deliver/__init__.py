"""The ways out of the book: none of them decides anything.

`picture` draws, `paper` sets A4 pages, `post` sends letters and calendars, `proof` packs a proof
file. Each wing stands alone but for `paper`, which uses the pictures.
"""
