"""What the book costs, as ratios against a bare floor measured in the same run."""
