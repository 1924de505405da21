"""The time before this book: a file checked (`file`, `plan`), then told in batches (`bring_in`)."""
