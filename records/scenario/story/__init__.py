"""Production told event by event: a works is set up from a rulebook, told each event, and asked questions."""
