"""What runs on a unit that was started from the stick: first program, consoles, reports kept."""
