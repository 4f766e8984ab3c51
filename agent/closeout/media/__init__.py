"""The stick that boots a unit into the check: built out of Debian's packages, and verified."""
