"""Writes the pages that come from the code, and the outputs of the examples of all pages.

``python docs/generate.py`` brings them up to date; with ``--check`` nothing is written, and
the exit code is 1 when a page is stale.  Pages may be named, relative to this folder.
"""  # noqa: INP001 - docs/ is a folder of pages and their scripts, not a package

from __future__ import annotations

import difflib
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final

import catalog_page
import chain_page
import cli_page
import formats_page
from examples import with_real_output

DOCS: Final = Path(__file__).resolve().parent
GENERATED: Final[dict[str, Callable[[], str]]] = {
    "reference/catalog.md": catalog_page.page,
    "reference/chain-tests.md": chain_page.page,
    "reference/cli.md": cli_page.page,
    "reference/formats.md": formats_page.page,
}


def main(arguments: Sequence[str]) -> int:
    """Bring pages up to date, or with ``--check`` say which are not; give the exit code."""
    check = "--check" in arguments
    wanted = [word for word in arguments if word != "--check"]
    found = [path.relative_to(DOCS).as_posix() for path in DOCS.rglob("*.md")]
    stale = 0
    for name in wanted or sorted({*found, *GENERATED}):
        path = DOCS / name
        old = path.read_text(encoding="utf-8") if path.exists() else ""
        new = GENERATED[name]() if name in GENERATED else with_real_output(old)
        if new == old:
            continue
        stale += 1
        if not check:
            path.write_text(new, encoding="utf-8")
        changes = difflib.unified_diff(old.splitlines(), new.splitlines(), name, "now", n=1)
        sys.stderr.writelines(f"{line}\n" for line in changes)
    return int(check and stale > 0)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
