"""How the tables came to be what they are: one file per step, run in one transaction by `Database.migrate`."""
