"""Profile, work order and catalogue to expectations."""
