"""Tomorrow's list played ahead with the clinic's own items and machines: read `tomorrow`."""
