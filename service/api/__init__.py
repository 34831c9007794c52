"""The REST API under /api/v1, one file a noun: parse, call a function of `records`, answer."""
