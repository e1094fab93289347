"""Room maps/tables."""
