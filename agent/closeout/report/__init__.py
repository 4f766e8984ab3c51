"""Report to JSON, HTML and console."""
