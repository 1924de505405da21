"""Letters and calendars on their way out.

Read `metronome` (the beat in the background) and `mail` (one message, and what became of it),
then the texts: `digest` (the daily letter), `letters` (to one person) and `calendar`.
"""
