"""One module a command; the module's name is the command's."""
