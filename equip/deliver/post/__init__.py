"""Letters and calendars on their way out: read `mail`, `metronome`, then the texts."""
