"""The pages, one file a screen: parse a form, call a function of `records`, show a template or redirect."""
