"""Room maps/report."""
