"""Pure rules: values in, values out. No clock, no database, no screen."""
