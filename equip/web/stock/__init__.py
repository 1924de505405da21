"""The pages of Stock: items, lots, solutions, tomorrow's list."""
