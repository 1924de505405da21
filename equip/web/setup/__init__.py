"""The pages of Setup: types, people, labels, letters, procedures."""
