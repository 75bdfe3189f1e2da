"""Hands-free walks without a screen: steps and readings in, events out."""
