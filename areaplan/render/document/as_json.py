"""A document as plain values: for programs, and for the typesetter."""

from __future__ import annotations

from typing import Any

from attrs import asdict

from areaplan.render.document.model import Block, Document, Figure


def document_as_json(document: Document) -> dict[str, Any]:
    """Turn a document into values that `json.dumps` takes.

    Every block gets a `kind`, the name of its class in lower case; a line to fill in is null.
    Drawings are named, not held.
    """
    return {
        "title": document.title,
        "subtitle": document.subtitle,
        "identity": [list(row) for row in document.identity.rows],
        "verdict": document.verdict,
        "caution": document.caution,
        "alarms": list(document.alarms),
        "running": document.running,
        "lead": list(document.lead),
        "is_dense": document.is_dense,
        "parts": [
            {
                "name": part.name,
                "title": part.title,
                "asked_by": part.asked_by,
                "is_two_column": part.is_two_column,
                "section_rank": part.section_rank,
                "sections": [
                    {
                        "title": one.title,
                        "is_small": one.is_small,
                        "blocks": [_block(block) for block in one.blocks],
                    }
                    for one in part.sections
                ],
            }
            for part in document.parts
        ],
    }


def _block(block: Block) -> dict[str, Any]:
    values = asdict(block)
    if isinstance(block, Figure):
        del values["svg"]
    return {"kind": type(block).__name__.lower(), **values}
