"""Room logistics/composting."""
