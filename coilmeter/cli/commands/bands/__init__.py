"""What is expected of a coil: list the bands, draw coils against one, learn one."""
