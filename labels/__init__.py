"""Labels and cards on paper: a tag's symbol, where things go in millimetres, and the drawing of it.

Read `sheet` (what the rest of the tool asks for), `designs` and `layout` (boxes in millimetres),
`symbol` and `faces` (what goes into them), then `pdf` and `png` (ink). This room knows nothing of
the ledger, of pages in a browser or of printers' addresses: text comes in, bytes go out.
"""
