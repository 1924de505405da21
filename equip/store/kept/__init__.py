"""What the ledger does not hold and cannot rebuild: references, keys, passwords, files, numbers."""
