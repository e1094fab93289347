"""Room logistics/accounts."""
