"""How days are read, by language. Beside ``en`` stand the library's own."""
