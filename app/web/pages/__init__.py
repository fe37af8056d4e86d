"""Pages, one module per noun: read the request, call, answer."""
