"""A4 pages with the same bytes each time.

Read `page` (type, paragraphs, ruled tables) and `picture` (a drawing on paper), then any sheet:
`record` of a cycle, `statement` of decontamination, `injury`, `month_plan`, `proof_report`.
"""
