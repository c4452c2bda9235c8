"""Terminal, JSON and hourly files."""
