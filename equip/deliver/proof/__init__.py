"""A proof file as one zip of the same bytes: `proof_zip` packs it, `verify` goes with it.

`verify` runs alone, on Python 3.9 as well, on a machine that has nothing else of ours.
"""
