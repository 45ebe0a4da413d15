"""The local-area briefing as a document: a content model, and printers to HTML and to PDF."""
