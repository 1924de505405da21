"""Labels and cards on paper: a tag's symbol, where things go in millimetres, and the drawing of it.

This room knows millimetres and symbols. It knows nothing of the ledger, of pages in a browser
or of printers' addresses: what comes in is text, what goes out is bytes.
"""
