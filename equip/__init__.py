"""The Instrument Book: every instrument and machine kept fit for use, and proved so."""
