"""One module a page: each has its `ROUTES`."""
