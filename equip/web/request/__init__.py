"""Every request.

Who asks (`guard`, `sign_in`), what was typed (`forms`), scans as JSON (`api`), and what went
wrong (`problem`).
"""
