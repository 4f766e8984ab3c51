"""Inventory against expectations: findings, verdict, first steps. Pure."""
