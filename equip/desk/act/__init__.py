"""One act: begun, told, committed in one transaction. Read `act` before any other wing."""
