"""Proofs of meters as lists and in words."""

from __future__ import annotations

from collections.abc import Sequence

from coilmeter.report.listing import Listing
from coilmeter.units import format_ohm, format_with_uncertainty
from coilmeter.values.proofs import MeterProof

HEADINGS = ("proved", "meter", "format", "port", "outcome", "null", "known resistors")
KEYS = (
    "made",
    "meter",
    "format",
    "port",
    "outcome",
    "null_ohm",
    "u_null_ohm",
    "null_scatter_ohm",
    "thermal_ohm",
    "open_range_ohm",
    "display_agrees",
    "resistors",
    "e_n",
    "why",
    "program_version",
)


def proofs_listing(proofs: Sequence[MeterProof], strange: Sequence[str] = ()) -> Listing:
    """List proofs, a line each; files that are none are named below."""
    return Listing(
        name="proofs",
        headings=HEADINGS,
        shown=[
            (
                proof.made[:16].replace("T", " "),
                proof.meter,
                proof.form,
                proof.port,
                str(proof.outcome),
                format_ohm(proof.null_ohm),
                ", ".join(check.resistor.text for check in proof.checks),
            )
            for proof in proofs
        ],
        keys=KEYS,
        fields=[_fields(proof) for proof in proofs],
        notes=strange,
        nothing="no meter has been proved here: coilmeter meter prove",
    )


def proof_listing(proof: MeterProof) -> Listing:
    """Show one proof: each resistor, then what it comes to."""
    null = (
        f"Leads {format_with_uncertainty(proof.null_ohm, 2 * proof.u_null_ohm)} (k = 2), "
        f"scatter {proof.null_scatter_ohm:.2g} ohm"
    )
    if proof.thermal_ohm is not None:
        null += f", {abs(proof.thermal_ohm):.2g} ohm to either side with the plugs swapped"
    end = proof.open_range_ohm
    opened = f" Open leads read OL{f' past {format_ohm(end)}' if end else ''}."
    return Listing(
        name="resistors",
        headings=("known resistor", "read, leads off", "deviation", "E_n", "outcome"),
        shown=[
            (
                check.resistor.text,
                format_ohm(check.resistor.ohm + check.deviation_ohm),
                f"{100 * check.deviation_ohm / check.resistor.ohm:+.2f} %",
                f"{check.e_n:+.2f}",
                str(check.outcome),
            )
            for check in proof.checks
        ],
        keys=(
            "resistor",
            "nominal_ohm",
            "tolerance",
            "read_ohm",
            "deviation_ohm",
            "u_deviation_ohm",
            "meter_limit_ohm",
            "resistor_limit_ohm",
            "range_ohm",
            "e_n",
            "p_missed",
            "outcome",
        ),
        fields=[
            (
                check.resistor.text,
                check.resistor.ohm,
                check.resistor.tolerance,
                check.resistor.ohm + check.deviation_ohm,
                check.deviation_ohm,
                check.random_ohm,
                check.meter_ohm,
                check.resistor_ohm,
                check.range_ohm,
                check.e_n,
                check.missed,
                str(check.outcome),
            )
            for check in proof.checks
        ],
        notes=(
            f"{null}.{opened if proof.open_read else ''}",
            *proof.why,
            f"{proof.meter}: {proof.outcome}.",
        ),
        facts=tuple(zip(KEYS, _fields(proof), strict=True)),
        nothing="no known resistor was read",
    )


def _fields(proof: MeterProof) -> tuple[object, ...]:
    return (
        proof.made,
        proof.meter,
        proof.form,
        proof.port,
        str(proof.outcome),
        proof.null_ohm,
        proof.u_null_ohm,
        proof.null_scatter_ohm,
        proof.thermal_ohm,
        proof.open_range_ohm,
        proof.display_agrees,
        [check.resistor.text for check in proof.checks],
        [check.e_n for check in proof.checks],
        list(proof.why),
        proof.version,
    )
