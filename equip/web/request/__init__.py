"""Every request.

Who asks (`guard`, `sign_in`), what was typed (`forms`), what went wrong (`problem`).
"""
