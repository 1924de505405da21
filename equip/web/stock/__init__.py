"""The pages of Stock: read `stock`, then `lots`, `mixing` and `tomorrow`."""
