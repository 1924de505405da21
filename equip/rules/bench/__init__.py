"""What a bench has in hand, and what each scan does to it: all of it in `transitions`."""
