"""Bytes to objects, pure and total: any input gives an object or one error with an offset."""
