"""Pictures, laid out once as marks and drawn from them on screen and on paper.

Read `ink` (the marks) and `svg`, which alone draws them on a screen, then any layout: `trend`,
`chart` or `path`. A cycle goes through `cycle`, `layout`, `field` and `thinning`; `ticks` has the
axes, `table` the same content in words.
"""
