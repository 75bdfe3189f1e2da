"""The bin of spare heads: evidence in a database, verdicts computed from it.

One file by default, one database server for a shop of several benches, with the same code.
Every command reads or writes in one transaction; what is evidence is never changed and never
removed.
"""
