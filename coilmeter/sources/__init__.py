"""Where readings come from: files, ports, and the simulated meter."""
