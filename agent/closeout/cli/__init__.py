"""Parse, call, render, exit: one file a command."""
