"""The ledger.

Read `ledger` (append and read), `about` (what it says of one subject), `verifying` (every seal
recomputed) and `extracts` (entries byte for byte, to take away).
"""
