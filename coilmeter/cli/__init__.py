"""The command line.

A command is one file in `coilmeter.cli.commands`, found by discovery.  Importing this
package loads none of the heavy libraries; each command imports what it needs when it runs.
"""

from coilmeter.cli.main import main

__all__ = ["main"]
