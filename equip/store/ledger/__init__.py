"""The ledger.

Read `ledger` (append and read), `about`, `verifying` (every seal again), `extracts`.
"""
