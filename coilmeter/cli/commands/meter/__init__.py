"""The meter: where it is plugged in, what it sends, and whether it can be trusted."""
