"""Pure thought: readings in, verdicts out; no clock, file or port."""
