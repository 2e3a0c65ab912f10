"""Pure chess, no database: typed positions, their names, the facts of a line."""

from explorer.positions.facts import PlyFacts, line_facts
from explorer.positions.letters import LETTERS, localise
from explorer.positions.names import Named, find_name, name_along, name_of_key
from explorer.positions.position import Position, fen_of, numbered, position_of
from explorer.positions.typed import parse_position

__all__ = [
    "LETTERS",
    "Named",
    "PlyFacts",
    "Position",
    "fen_of",
    "find_name",
    "line_facts",
    "localise",
    "name_along",
    "name_of_key",
    "numbered",
    "parse_position",
    "position_of",
]
