"""The bin of spare heads: what is in it, what fits, what matches, what became of it.

Every head that was measured is a record: its readings, and what people said of it. Verdicts are
computed from them each time. A command that writes does it in one transaction: all of it, or
nothing.
"""
