"""The pages of Due: due tasks, work, calibrations, electrical tests, the year ahead."""
