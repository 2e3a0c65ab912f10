"""Names that were forgotten: keyed hashes by which a name is left out again, never the name.

They lie in `meta`, one value a name. The key is the library's own, so the hashes say
nothing outside it; whoever has the library and suspects a name can try it.

How much is taken out of a text depends on what it is:

- a player's tag: the whole value, compared as names are, so that "Li" leaves "Li, Wei";
- any other text: the words of the name side by side, in any order, spelling and case,
  run together or apart ("vane_amber", "AmberVane", but a short name only as it is:
  "Li, Na" leaves "Lina"), never a part of a word;
- names of files, the beginnings of games in the ledger, and event, site and round of the
  player's own games: each telling word of the name as well, since events are called
  "Vane - Quill" and files "vane.pgn".

It depends on the text and the hashes alone: it is all one whether a file is added
before a name is forgotten or after.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from hashlib import blake2b
from itertools import groupby, permutations

import pyarrow as pa

from ingest import schema
from ingest.tags import A_PLAYER, Names, TagColumns, named, same_name

NOBODYS = "?"  # begins the compared form of a forgotten player; no name's own form has one
TELLING = 3  # letters of a word that gives a name away by itself
NAMING_TAGS = ("event", "site", "round", "time_control")  # texts in which a name may stand
_META = "forgotten "
COLLECTIONS = "forgotten collection "  # begins the rows of `meta` that say what they are called
_ANY_ORDER = 4  # words; longer names are known as they are, and in comma order
_LOOSE = 6  # letters of a name that is known with its words run together or cut up, too
_CACHED = 1 << 16

_PLAIN_WORDS = re.compile(r"[A-Za-z]+|[0-9]+")
_TAG = re.compile(r'(\[\s*(\w+)\s+")((?:[^"\\\n]|\\.)*)(?=")')
_CLEAN = re.compile(rf"\b{A_PLAYER}\b")
_PLAYERS_TAGS = ("white", "black")

_Hashes = frozenset[tuple[int, str]]  # the length of what was hashed, and the hash


@dataclass(frozen=True, slots=True)
class Stone:
    """One forgotten name. ``whole`` are its words run together, ``words`` the telling ones."""

    name: str  # hash of the compared form
    longest: int  # so many words may make up the name in a text
    whole: _Hashes
    words: _Hashes

    @property
    def same(self) -> str:
        """What `players.same` holds instead of the compared form."""
        return f"{NOBODYS} {self.name}"

    @property
    def row(self) -> tuple[str, str]:
        """Its row in `meta`."""
        return _META + self.name, f"{self.longest} {_written(self.whole)} {_written(self.words)}"


def _written(hashes: _Hashes) -> str:
    return ",".join(f"{length}:{found}" for length, found in sorted(hashes)) or "-"


def _read(text: str) -> _Hashes:
    pairs = (part.split(":") for part in text.split(",")) if text != "-" else ()
    return frozenset((int(length), found) for length, found in pairs)


class Tombstones:
    """The forgotten names of a library; True when there are any."""

    def __init__(self, meta: Mapping[str, str]) -> None:
        """Read them from the values of `meta`."""
        self._secret = bytes.fromhex(meta["fingerprint_key"])
        self._collections = {
            name: value for name, value in meta.items() if name.startswith(COLLECTIONS)
        }
        stones = []
        for name, value in meta.items():
            if name.startswith(_META) and name not in self._collections:
                longest, whole, words = value.split(" ")
                stones.append(
                    Stone(name.removeprefix(_META), int(longest), _read(whole), _read(words))
                )
        self._set(stones)

    def _set(self, stones: Iterable[Stone]) -> None:
        self._stones = {stone.name: stone for stone in stones}
        self._longest = max((stone.longest for stone in self._stones.values()), default=0)
        self._whole = frozenset().union(*(stone.whole for stone in self._stones.values()))
        self._words = frozenset().union(*(stone.words for stone in self._stones.values()))
        self.whole = lru_cache(_CACHED)(self._without_names)
        self.label = lru_cache(_CACHED)(self._without_words)
        self.of = lru_cache(_CACHED)(self._stone_of)

    def __bool__(self) -> bool:
        """Whether any name is forgotten."""
        return bool(self._stones)

    def __contains__(self, name: str) -> bool:
        """Whether a name is forgotten, by its hash."""
        return name in self._stones

    def __iter__(self) -> Iterator[Stone]:
        """What is kept of each name."""
        return iter(self._stones.values())

    def only(self, stones: Iterable[Stone]) -> Tombstones:
        """The same library's, of these names alone."""
        some = object.__new__(Tombstones)
        some._secret, some._collections = self._secret, self._collections
        some._set(stones)
        return some

    def _hash(self, kind: str, text: str) -> str:
        text = f"{kind} {text}"
        found = blake2b(text.encode("utf-8", "surrogatepass"), digest_size=8, key=self._secret)
        return found.hexdigest()

    def carve(self, name: str) -> Stone:
        """What is to be kept of a name."""
        words = [text for _, _, text in _words_of(name)]
        several = permutations(words) if len(words) <= _ANY_ORDER else _turned(words)
        whole = {"".join(some) for some in several} - {""}
        loose = sum(map(len, words)) >= _LOOSE
        kind = "whole" if loose else f"{len(words)} words"
        return Stone(
            self._hash("name", same_name(name)),
            len(words) + 2 * loose,
            frozenset((len(text), self._hash(kind, text)) for text in whole),
            frozenset((len(w), self._hash("word", w)) for w in words if len(w) >= TELLING),
        )

    def _stone_of(self, same: str) -> Stone | None:
        """The stone of a name by its compared form, None when it is not forgotten."""
        return self._stones.get(self._hash("name", same)) if self._stones else None

    def _without_names(self, text: str) -> str:
        return self._cleaned(text, frozenset())

    def _without_words(self, text: str) -> str:
        return self._cleaned(text, self._words)

    def tag(self, text: str, *own: Stone | None) -> str:
        """A tag's text in a game of the players ``own``, those not forgotten being None."""
        words = frozenset[tuple[int, str]]().union(*(stone.words for stone in own if stone))
        return self._cleaned(text, words) if words else self.whole(text)

    def reason(self, kind: str, text: str) -> str:
        """A reason in the ledger; that of a duplicate ends with a file's name."""
        begin, of, file = text.partition(" of ")
        return begin + of + self.label(file) if kind == "duplicate" else self.whole(text)

    def excerpt(self, text: str) -> str:
        """The beginning of a game in the ledger. Where it broke off, the last line goes:
        a name may have been cut in two there."""
        if not self._stones:
            return text
        if len(text) >= schema.EXCERPT and not text.endswith("\n"):
            text = text[: text.rfind("\n") + 1]
            if text.rfind("{") > text.rfind("}"):
                text = text[: text.rfind("{")] + "\n"
        kept, end = [], 0
        for tag in _TAG.finditer(text):
            kept += [self.label(text[end : tag.start()]), tag[1]]
            kept.append(self._value(tag[2], tag[3]))
            end = tag.end()
        return "".join(kept) + self.label(text[end:])

    def _value(self, tag: str, value: str) -> str:
        if tag.lower() not in _PLAYERS_TAGS:
            return self.label(value)
        return A_PLAYER if self._is_players(tag, value) else value

    def _is_players(self, tag: str, value: str) -> bool:
        """Whether a tag is a player's, and its value a forgotten name."""
        _, same = named(value)
        return tag.lower() in _PLAYERS_TAGS and same is not None and self.of(same) is not None

    def stands_in(self, text: str) -> bool:
        """Whether a forgotten name stands in a text, which may be the beginning of a game."""
        if self.whole(text) != text:
            return True
        return any(self._is_players(tag[2], tag[3]) for tag in _TAG.finditer(text))

    def collection(self, name: str, taken: Iterable[str]) -> tuple[str, tuple[str, str] | None]:
        """What a collection is called, and a new row of `meta` that remembers it.

        ``taken`` are names that others have. A name made of words of a forgotten
        name and of numbers is all the player's.
        """
        free = self._bare(name)
        if free == name:
            return name, None
        key = COLLECTIONS + self._hash("collection", name)
        if key in self._collections:
            return self._collections[key], None
        others, number, unused = {*taken, *self._collections.values()}, 2, free
        while unused in others:
            unused, number = f"{free} {number}", number + 1
        self._collections[key] = unused
        return unused, (key, unused)

    def _bare(self, name: str) -> str:
        words = [text for _, _, text in _words_of(name) if not text.isdigit()]
        all_telling = words and all(self._known("word", text, self._words) for text in words)
        return self.label(name) if all_telling else self.whole(name)

    def _known(self, kind: str, text: str, hashes: _Hashes) -> bool:
        size = len(text)
        return any(size == length for length, _ in hashes) and (
            (size, self._hash(kind, text)) in hashes
        )

    def _cleaned(self, text: str, words: _Hashes) -> str:
        if not self._stones:
            return text
        parts = _CLEAN.split(text)  # what is clean already stays as it is
        return A_PLAYER.join(self._clean_part(part, words) for part in parts)

    def _clean_part(self, text: str, words: _Hashes) -> str:
        found = _words_of(text)
        kept, end, i = [], 0, 0
        while i < len(found):
            after = self._end_of_name(found, i, words)
            if after > i:
                kept += [text[end : found[i][0]], A_PLAYER]
                end = found[after - 1][1]
                i = after
            else:
                i += 1
        return "".join(kept) + text[end:]

    def _end_of_name(self, found: list[tuple[int, int, str]], i: int, words: _Hashes) -> int:
        """Behind the last word of the name that begins with word ``i``; ``i`` when none does."""
        for count in range(min(self._longest, len(found) - i), 0, -1):
            together = "".join(text for _, _, text in found[i : i + count])
            if any(
                self._known(kind, together, self._whole) for kind in ("whole", f"{count} words")
            ):
                return i + count
        return i + self._known("word", found[i][2], words)

    def clean_tags(self, tags: TagColumns) -> TagColumns:
        """The tags of a batch without forgotten names, but for those of the players."""
        own = list(zip(self._stones_of(tags.white), self._stones_of(tags.black), strict=True))
        clean = {}
        for column in NAMING_TAGS:
            texts = getattr(tags, column).to_pylist()
            clean[column] = pa.array(
                [
                    None if text is None else self.tag(text, *stones)
                    for text, stones in zip(texts, own, strict=True)
                ],
                pa.string(),
            )
        return replace(tags, **clean)

    def _stones_of(self, names: Names) -> list[Stone | None]:
        stones = [None if same is None else self.of(same) for same in names.same]
        return [stones[number] for number in names.of.tolist()]


def _turned(words: list[str]) -> list[list[str]]:
    """``words`` beginning at each of them: in comma order, and not."""
    return [words[i:] + words[:i] for i in range(len(words))]


def _words_of(text: str) -> list[tuple[int, int, str]]:
    """Where each word begins and ends, and how it is compared. Digits are words of their own."""
    if text.isascii():
        return [(w.start(), w.end(), w[0].lower()) for w in _PLAIN_WORDS.finditer(text)]
    words, begin = [], 0
    for kind, letters in groupby(text, _kind):
        end = begin + sum(1 for _ in letters)
        if kind:
            words.append((begin, end, same_name(text[begin:end])))
        begin = end
    return words


@lru_cache(_CACHED)
def _kind(char: str) -> str:
    """What part of a word a character can be: a letter (or a sign used as one), a digit, none."""
    category = unicodedata.category(char)
    return "letter" if category[0] in "LM" or category == "So" else "N" * (category[0] == "N")
