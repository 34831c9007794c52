"""The demo: an invented club workshop with three bicycles, entered through the same functions as the API."""
