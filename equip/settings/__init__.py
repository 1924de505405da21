"""What can be configured: read `settings`; `values` reads each kind of value."""
