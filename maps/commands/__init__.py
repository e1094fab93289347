"""Room maps/commands."""
