"""The time before this book, brought in from a file.

Read `file` (read, checked, planned), then `bring_in` (told in batches), `tell` (one function for
each sort of line) and `names` (what a name stands for, and what is made for one that nobody knows).
"""
