"""Documents to read and print: one model, and printers as text, HTML and PDF."""
