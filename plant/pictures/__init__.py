"""Pictures of the house as plain geometry: numbers in, places on the page out. Templates draw them; no Django here."""
