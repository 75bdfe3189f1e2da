"""Migrations of the bin, in the order of their numbers; run through alembic."""
