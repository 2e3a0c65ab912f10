"""The library's tables, their version, and how a library is opened.

History of the schema, one line a version:
1  the first.
"""

from __future__ import annotations

SCHEMA_VERSION = 1

# What a visit's `piece` says when `move` is 0: why the record stops there.
END_OF_RECORD = 0
END_CHECKMATE = 7
END_STALEMATE = 8

DDL = """
-- One value a name: schema_version, plies, fingerprint_key (hex, secret of this library), made_by.
CREATE TABLE meta (name VARCHAR NOT NULL, value VARCHAR NOT NULL);

-- A named group of games added together.
CREATE TABLE collections (id UINTEGER NOT NULL, name VARCHAR NOT NULL);

-- Which games belong to which collections, and the file that brought them there.
CREATE TABLE memberships (game_id UINTEGER NOT NULL, collection_id UINTEGER NOT NULL, file_id UINTEGER NOT NULL);

-- A player's name once, as first met; `same` is the form that is compared
-- (no case, accents, spacing or comma order).
CREATE TABLE players (id UINTEGER NOT NULL, name VARCHAR NOT NULL, same VARCHAR NOT NULL);

CREATE TABLE games (
    id UINTEGER NOT NULL,
    white_id UINTEGER,               -- NULL: the tag gives no name
    black_id UINTEGER,
    white_rating USMALLINT,          -- NULL: unrated
    black_rating USMALLINT,
    rating_scale VARCHAR,            -- add --rating-scale; NULL: not said
    result UTINYINT,                 -- half points of White: 2, 1, 0; NULL: unknown
    played DATE,                     -- NULL when the tag is too vague
    year USMALLINT,                  -- kept even when the date is vague
    month UTINYINT,
    day UTINYINT,
    event VARCHAR, site VARCHAR, round VARCHAR,
    time_control VARCHAR,
    pace UTINYINT NOT NULL,          -- tags.Pace
    termination VARCHAR,             -- only the PGN standard's values (9.8.1)
    start_fen VARCHAR,               -- NULL: the normal starting position
    ending UTINYINT NOT NULL,        -- END_OF_RECORD, END_CHECKMATE or END_STALEMATE
    cut_short BOOLEAN NOT NULL,      -- the text could not be read beyond the mainline kept here
    plies USMALLINT NOT NULL,        -- length of the mainline
    mainline USMALLINT[] NOT NULL,   -- the whole mainline, packed as in `visits`
    fingerprint UBIGINT NOT NULL     -- keyed hash of names, result and mainline, for duplicates
);

-- The heart: one row per game per position, for the first N plies; a game's
-- first arrival only. Sorted by (key, move, game_id) within each run.
CREATE TABLE visits (
    key UBIGINT NOT NULL,            -- position before the move
    move USMALLINT NOT NULL,         -- from + 64 * to + 4096 * promotion; 0: the record stops here
    piece UTINYINT NOT NULL,         -- what moves, 1-6 (pawn to king); with move 0 an END_ value
    ply UTINYINT NOT NULL,           -- 0 at the game's first position
    game_id UINTEGER NOT NULL,
    mover_id UINTEGER,
    mover_rating USMALLINT,
    opponent_rating USMALLINT,
    half_points UTINYINT,            -- of the mover; NULL: result unknown
    pace UTINYINT NOT NULL,
    played DATE,
    swing TINYINT,                   -- pawns, for the mover; NULL: cut short, mated, or no move
    mated BOOLEAN NOT NULL           -- the mover is mated within the window
);

-- The sorted runs that `visits` consists of, oldest first: rows lie in this order.
CREATE TABLE runs (id UINTEGER NOT NULL, rows UBIGINT NOT NULL, first_key UBIGINT NOT NULL, last_key UBIGINT NOT NULL);

-- Positions that at least five games reached; refreshed when an `add` ends.
CREATE TABLE positions (key UBIGINT NOT NULL, games UINTEGER NOT NULL);

-- The ledger: one row per source read.
-- found = added + duplicates + rejected + left_out, always; cut_short are among the added.
CREATE TABLE files (
    id UINTEGER NOT NULL,
    collection_id UINTEGER NOT NULL,
    name VARCHAR NOT NULL,
    sha256 VARCHAR NOT NULL,
    options VARCHAR NOT NULL,        -- the options of `add` that change what is stored
    encoding VARCHAR NOT NULL,
    found UINTEGER NOT NULL, added UINTEGER NOT NULL, duplicates UINTEGER NOT NULL,
    rejected UINTEGER NOT NULL, left_out UINTEGER NOT NULL, cut_short UINTEGER NOT NULL
);

CREATE TABLE rejects (
    file_id UINTEGER NOT NULL,
    game_number UINTEGER NOT NULL,   -- in the file, from 1
    line UINTEGER NOT NULL,          -- where the game begins, from 1
    kind VARCHAR NOT NULL,           -- 'rejected', 'cut short', 'duplicate' or 'noted'
    reason VARCHAR NOT NULL,
    excerpt VARCHAR NOT NULL         -- first 200 characters of the game's text
);
"""
