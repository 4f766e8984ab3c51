"""Kernel file to bytes: the only door to the machine, live, in a folder or recorded."""
