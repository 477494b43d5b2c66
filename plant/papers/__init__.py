"""Papers of the house: PDFs in black ink with letters of their own, whose bytes follow from their facts. No Django."""
