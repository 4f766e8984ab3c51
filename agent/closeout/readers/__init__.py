"""Tree to devices: one file a class, and the explicit list of them."""
