"""One load from open to released, and why it may not be released.

Read `load` (what is known of it), `fold` (how its facts come to that), `release` (why not).
"""
