"""Results as tables, CSV and the JSON document."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from typing import Any

import pytest
from helpers import STATED, judged, one_head, shipped

from coilmeter.report.document import SCHEMA, head_document, json_chunks
from coilmeter.report.reasons import coil_reason, path_reason
from coilmeter.report.safe import LONGEST, for_markdown, for_spreadsheet, printable
from coilmeter.report.tables import CSV_COLUMNS, csv_chunks, text_chunks
from coilmeter.report.widths import WIDTH
from coilmeter.values import HeadResult

TWO = {"kind": "two-channel-rp", "meter": "handheld-4000"} | STATED
MIXED = (
    "coil,reading,purpose,count,scatter\n1,171.0,,,\n2,OL 400 ohm,,,\n"
    "1,OL 40 Mohm,coil-to-case,,\n2,10.0,coil-to-case,,\n1-2,4.0 Mohm,coil-to-coil,,\n"
)
NASTY = "\x1b[31mred\x07\u202egnol\u2028\x9b2J\r\n"


def table(head: HeadResult, **how: bool) -> str:
    """Write one head for the terminal, or in Markdown."""
    return "".join(text_chunks([head], **how))


def as_csv(heads: list[HeadResult], **how: bool) -> list[list[str]]:
    """Write heads as CSV and read it again."""
    return list(csv.reader(io.StringIO("".join(csv_chunks(heads, **how)), newline="")))


def as_json(heads: list[HeadResult], *, parts: bool = False) -> dict[str, Any]:
    """Write heads as JSON and read it again, refusing what is no JSON number."""
    text = "".join(json_chunks(heads, shipped().meter("handheld-4000"), 0.95, parts=parts))

    def never(word: str) -> float:
        raise ValueError(word)

    document: dict[str, Any] = json.loads(text, parse_constant=never)
    return document


def test_one_line_a_coil_verdict_first() -> None:
    """The verdict is the first word of the line of each coil and path."""
    lines = table(one_head(MIXED, **TWO)).splitlines()
    first = [line.split()[0] for line in lines if line[:1].isalpha()]

    assert "PARTIAL:" == first[0]
    for word in ("intact", "undecided", "isolated"):
        assert word in first
    assert any(line.startswith("intact     1 ") for line in lines)


def test_sentences_are_wrapped() -> None:
    """What is no table line is wrapped to the width of a screen."""
    lines = table(one_head(MIXED, **TWO), parts=True).splitlines()
    sentences = [line for line in lines if "  " not in line.strip() and "--" not in line]

    assert len(sentences) > 10
    assert max(len(line) for line in sentences) <= WIDTH


def test_next_and_cautions_follow() -> None:
    """What to measure next, by coil and path, and then what to mind."""
    text = table(one_head(MIXED, **TWO))

    assert (
        text.index("Next:") < text.index("- coil 2: read it on a range") < text.index("Mind:")
    )
    assert "2 to case:" in text
    assert "1 to 2:" in text
    assert "demagnetise" in text.partition("Mind:")[2]


def test_budget_shows_shares() -> None:
    """Each part of the uncertainty with its share, the shares together the whole."""
    text = table(one_head("coil,reading\n1,171.0\n2,OL 40 Mohm\n", **TWO), parts=True)
    (line,) = [line for line in text.splitlines() if line.startswith("1 ") and "%" in line]
    shares = [int(cell.split("(")[1].split("%")[0]) for cell in line.split("  ") if "%" in cell]

    assert 6 == len(shares)
    assert 97 <= sum(shares) <= 103


def test_markdown_is_escaped() -> None:
    """Names that are Markdown or HTML stay text, in tables and in sentences alike."""
    head = one_head("coil,reading\n<b>|`x`,171.0\n*y*,OL 40 Mohm\n", **STATED)
    text = table(head, markdown=True)

    assert text.startswith("## ")
    assert "<b>" not in text
    assert "*y*" not in text.replace("\\*", "")


@pytest.mark.parametrize("markdown", [False, True])
@pytest.mark.parametrize("column", ["head", "coil", "note"])
def test_no_control_character_reaches_the_screen(column: str, markdown: bool) -> None:  # noqa: FBT001 - a parameter of the test
    """Names from a file cannot ring, recolour, move the cursor or turn the line around."""
    name = f'"{NASTY}"'
    cells = {"head": "H", "coil": "1", "reading": "OL 40 Mohm", "note": "x"}
    cells[column] = name
    text = ",".join(cells) + "\n" + ",".join(cells.values()) + "\n"
    shown = table(one_head(text), markdown=markdown)

    assert [] == sorted({char for char in shown if not char.isprintable()} - {"\n"})


def test_csv_reads_back() -> None:
    """One line a coil or path; numbers as numbers, empty where unknown."""
    head = one_head(MIXED, **TWO)
    header, *lines = as_csv([head])
    records = [dict(zip(header, line, strict=True)) for line in lines]

    assert list(CSV_COLUMNS) == header
    assert ["coil", "coil", "path", "path", "path", "path"][: len(records)] == [
        record["what"] for record in records
    ]
    assert 171.0 == float(records[0]["resistance_20c_ohm"])
    assert ("", "400.0", "undecided") == (
        records[1]["u_ohm"],
        records[1]["bound_ohm"],
        records[1]["verdict"],
    )
    assert "nan" not in "".join("".join(line) for line in lines).lower()


def test_csv_with_the_budget_keeps_its_columns() -> None:
    """Every line has as many cells as the header, bounds and paths included."""
    header, *lines = as_csv([one_head(MIXED, **TWO)], parts=True)

    assert {len(header)} == {len(line) for line in lines}


@pytest.mark.parametrize("name", ["=1+1", "+1", "-1", "@x", "\t=1", "=cmd|' /C calc'!A0"])
def test_no_cell_runs_as_a_formula(name: str) -> None:
    """A cell that a spreadsheet would run is quoted with an apostrophe."""
    heads = judged(f'head,coil,reading\n"{name}","{name}",171.0\n')
    header, line, *_ = as_csv(heads)
    record = dict(zip(header, line, strict=True))

    for column in ("head", "from"):
        assert record[column].startswith("'")
    assert f"'{name}" == for_spreadsheet(name)


def test_json_document() -> None:
    """The keys of the document are a contract; unknown is null and never NaN."""
    document = as_json(judged(MIXED, **TWO))
    (head,) = document["heads"]
    coil, undecided = head["coils"]
    path = head["isolation"][0]

    assert SCHEMA == document["schema"]
    assert ["schema", "confidence", "meter", "heads"] == list(document)
    assert {"head", "kind", "grade", "grade_reason", "coils", "isolation", "cautions"} == set(
        head
    )
    assert {
        *("coil", "role", "pins", "evidence", "reading", "bound_ohm", "resistance_20c_ohm"),
        *(
            "u_ohm",
            "verdict",
            "probability",
            "zones",
            "match",
            "deviation",
            "u_deviation",
            "next",
        ),
    } <= set(coil)
    assert {"from", "to", "verdict"} <= set(path)
    assert ("1", "rp", ["1", "2"], "value", "171.0", None, 171.0) == tuple(
        coil[key]
        for key in (
            *("coil", "role", "pins", "evidence", "reading", "bound_ohm"),
            "resistance_20c_ohm",
        )
    )
    assert {"shorted", "low", "intact", "high", "open"} == set(coil["zones"])
    assert 1.0 == pytest.approx(sum(coil["zones"].values()))
    assert (None, 400.0, "above") == (
        undecided["probability"],
        undecided["bound_ohm"],
        undecided["evidence"],
    )
    assert undecided["next"].startswith("read it on a range of at least")
    assert None is coil["next"]
    assert "budget" not in coil


def test_json_budget() -> None:
    """On request each coil carries its parts, which make the whole."""
    coil, bound = as_json(judged(MIXED, **TWO), parts=True)["heads"][0]["coils"]
    whole = sum(part**2 for part in coil["budget"].values()) ** 0.5

    assert coil["u_ohm"] == pytest.approx(whole)
    assert None is bound["budget"]


def test_json_of_no_head_and_of_many() -> None:
    """One document whatever the number of heads, a head a line."""
    heads = judged("head,coil,reading\nA,1,171\nB,1,171\n")
    document = head_document(heads[0])

    assert [] == as_json([])["heads"]
    assert ["A", "B"] == [head["head"] for head in as_json(heads)["heads"]]
    assert None is document["kind"]
    assert None is document["coils"][0]["pins"]


def test_reasons() -> None:
    """Why a verdict is what it is, in a few words."""
    head = one_head(
        "coil,reading,purpose,count,scatter\n1,171.0,,5,20\n2,99.9,,,\n3,OL,,,\n"
        "1,4 Mohm,coil-to-case,,\n2,30 Mohm,coil-to-case,,\n3,beep 5 ohm,coil-to-case,,\n"
        "4,OL 4 Mohm,coil-to-case,,\n",
        kind="four-channel-rp",
        meter="handheld-4000",
        **STATED,
    )
    coils = [coil_reason(coil) for coil in head.coils]
    paths = {path.start: path_reason(path) for path in head.isolation if path.end == "case"}
    missing = {path_reason(path) for path in head.isolation if path.end != "case"}

    assert "the readings scattered" == coils[0]
    assert coils[1].endswith(": intact or low") or coils[1].endswith(": low or intact")
    assert coils[2].startswith("more than 400 ohm: intact or high or open")
    assert "not measured" == coils[3]
    assert {"not measured"} == missing
    assert "neither good nor a leak" == paths["1"]
    assert "P > 0.9999" == paths["2"]
    assert "less than 5 ohm" == paths["3"]
    assert "more than 4 Mohm: doubtful or isolated" == paths["4"]


def test_a_probability_is_never_rounded_up_to_certainty() -> None:
    """0.99996 is not shown as 1.0000."""
    reason = coil_reason(one_head("coil,reading\n1,171.0\n", band="rp-cassette").coils[0])

    assert reason.startswith("P > 0.9999")


def test_printable() -> None:
    """Harmless text is left as it is; long text is cut; the rest becomes question marks."""
    assert "K-07 Köpfe 頭" == printable("K-07 Köpfe 頭")
    assert "?[31mx??" == printable("\x1b[31mx\u202e\u200b")
    assert LONGEST + 3 == len(printable("x" * 500))
    assert "a\\|b\\*" == for_markdown("a|b*")


def test_a_head_with_no_path_to_read() -> None:
    """Where nothing has to be read between coils and case, there is no table of paths."""
    bare = replace(shipped().kind("one-erase"), case=False)
    head = one_head("coil,reading\nE,5.0\n", kind="one-erase", kinds={"one-erase": bare})
    text = table(head)

    assert 1 == text.count("verdict")
    assert "Next:" not in text
