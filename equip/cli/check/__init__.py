"""The kinds of `python app.py check`: each reads JSON strictly, asks a pure rule, answers in JSON.

Read `kinds` (which there are), `reading` (how a question is read) and `answering` (how an answer
is made), then a family: `heat`, `testing`, `keeping` or `measuring`.
"""
