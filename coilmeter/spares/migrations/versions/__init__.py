"""One module a migration: what it makes of the bin of the one before."""
