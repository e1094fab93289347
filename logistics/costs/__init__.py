"""Room logistics/costs."""
