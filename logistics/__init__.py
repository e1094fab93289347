"""Loamhaul engine: from the tables of a district to a plan."""
