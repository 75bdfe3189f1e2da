"""Pages from templates: everything escaped, one style, nothing that leads off the page."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

from coilmeter.report.safe import harmless

_TEMPLATES: Final = Path(__file__).parent / "templates"


def rendered(template: str, **values: Any) -> str:
    """Fill a template; texts are escaped, and control and direction characters taken out."""
    from jinja2 import Environment, FileSystemLoader  # noqa: PLC0415 - only for pages

    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_tidy,
    )
    style = own_markup((_TEMPLATES / "page.css").read_text(encoding="utf-8"))
    return environment.get_template(template).render(style=style, **values)


def own_markup(text: str) -> Any:
    """Mark as part of a page what this program drew or ships itself."""
    from markupsafe import Markup  # noqa: PLC0415 - comes with the pages

    return Markup(text)  # noqa: S704 - texts in it were escaped where they were put in


def _tidy(value: Any) -> Any:
    return harmless(value) if type(value) is str else value
