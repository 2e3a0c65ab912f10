"""Pure chess, no database: typed positions, their names, the facts of a line."""

from explorer.positions.letters import localise
from explorer.positions.names import name_along, name_of_key
from explorer.positions.position import Position, fen_of, numbered, position_of
from explorer.positions.typed import parse_position

__all__ = [
    "Position",
    "fen_of",
    "localise",
    "name_along",
    "name_of_key",
    "numbered",
    "parse_position",
    "position_of",
]
