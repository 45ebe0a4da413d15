"""Where the sentence behind a limit stands: the same seven attributes for whatever has one."""

from __future__ import annotations

from datetime import date

from attrs import field, frozen, validators


@frozen
class Sourced:
    """What is asked for by a sentence of a document.

    Attributes
    ----------
    document, section, edition : str
        Where the sentence stands.
    last_checked : date
        Day on which a person last compared it with its source (where `confirm` is not empty: last
        looked at it, in want of the source).
    quote : str
        The decisive words.
    reading : str
        How the words are applied, where that took a decision; else "".
    confirm : str
        Why this must be confirmed against the current text before use; "" where the quoted text
        was seen.
    """

    document: str = field(validator=validators.min_len(1))
    section: str = field(validator=validators.min_len(1))
    edition: str = field(validator=validators.min_len(1))
    last_checked: date
    quote: str = field(validator=validators.min_len(1))
    reading: str
    confirm: str

    @property
    def citation(self) -> str:
        """Document, section and edition in one line."""
        return f"{self.document} {self.section}, {self.edition}"
