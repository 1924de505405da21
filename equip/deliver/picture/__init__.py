"""Pictures, laid out once as marks and drawn from them on screen and on paper.

Read `ink` (the marks) and `svg` (marks on a screen). A cycle goes through `cycle`, `layout`,
`field`, `ticks` and `thinning`; `table` gives the same content in words. `chart`, `trend` and
`path` draw the rest.
"""
