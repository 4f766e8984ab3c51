"""The stick that boots a unit into the check, and the reports that are kept on it."""
