"""Bytes to readings and back; no input or output in here."""
