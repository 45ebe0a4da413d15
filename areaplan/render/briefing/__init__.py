"""The local-area briefing as a document: what stands in it."""
