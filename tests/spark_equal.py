"""Spark asked at length: ``python -m tests.spark_equal [NUMBER]``, 200 questions if left out.

The questions of `tests/explorer/query/test_spark.py`, to random games and to the sample
games, NUMBER of each. Prints how many were asked, how many had an answer and not an error
(which must be the same, too), and how many differed: counts at all, other numbers by more
than 1e-12. Takes about 18 minutes on two busy cores for 200.
"""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from unittest.mock import patch

from ingest import parquet
from ingest.parquet import export_parquet
from tests.support.questions import differences, questions, sample_library, sample_world
from tests.support.random_world import World, make_world
from tests.support.sparks import MASTER, need_spark

SHARES = {"replies": 0.55, "mistake": 0.3, "costly": 0.15}


@contextmanager
def worlds(folder: Path) -> Iterator[tuple[tuple[str, World, str], ...]]:
    """Name, world and dataset of the random games and of the sample games."""
    random = make_world(folder, 8)
    samples = sample_world(sample_library(folder), 9)
    with patch.object(parquet, "PART_ROWS", 150):
        export_parquet(random.library.path, folder / "random")
    export_parquet(samples.library.path, folder / "samples")
    with random.library, samples.library:
        yield (
            ("random games", random, str(folder / "random")),
            ("sample games", samples, str(folder / "samples")),
        )


def compare(name: str, world: World, address: str, number: int) -> int:
    """Ask all of one world and print a line for each kind; how many answers differ."""
    from explorer.query.spark import open_with_spark

    asked, answered, different = Counter[str](), Counter[str](), Counter[str]()
    kinds = {kind: round(share * number) for kind, share in SHARES.items()}
    with open_with_spark(address, MASTER) as opened:
        for question in questions(world, kinds):
            expected, found = question.answer(world.library), question.answer(opened)
            kind = question.ask.__name__
            asked[kind] += 1
            answered[kind] += not isinstance(expected, tuple)
            if lines := differences(expected, found):
                different[kind] += 1
                print(question, *lines, sep="\n  ", flush=True)
    for kind in kinds:
        cells = (name, kind, asked[kind], answered[kind], different[kind])
        print(f"| {' | '.join(map(str, cells))} |", flush=True)
    return different.total()


def main(number: int) -> int:
    """0 when every answer is the same."""
    need_spark()
    print("| | question | asked | answered | different |\n| --- | --- | --- | --- | --- |")
    with tempfile.TemporaryDirectory() as folder, worlds(Path(folder)) as made:
        return int(sum(compare(*world, number) for world in made) > 0)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 200))
