"""The stick that boots a unit into the check: built, verified, started, and written reports to."""
