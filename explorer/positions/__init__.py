"""Pure chess, no database: typed positions, their names, the facts of a line."""
