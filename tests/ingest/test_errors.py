"""The exception tree."""

import inspect
import re

import pytest

from ingest import errors

CLASSES = [kind for _, kind in inspect.getmembers(errors, inspect.isclass)]


def test_the_drawing_shows_every_exception_below_its_parent():
    """The tree in the module's docstring is the tree of the classes."""
    drawn = re.findall(r"^    ([|` -]*)([A-Z]\w+)", errors.__doc__ or "", re.MULTILINE)
    assert {name for _, name in drawn} == {kind.__name__ for kind in CLASSES}
    above: list[str] = []
    for branches, name in drawn:
        depth = len(branches) // 4
        del above[depth:]
        if above:
            assert getattr(errors, name).__bases__ == (getattr(errors, above[-1]),)
        above.append(name)


@pytest.mark.parametrize("kind", CLASSES)
def test_every_exception_is_one_of_ours(kind):
    assert issubclass(kind, errors.ReplybookError)
    assert kind.__doc__


def test_a_name_in_a_message_is_shown_up_to_sixty_characters() -> None:
    assert errors.shown("A" * 60) == "A" * 60
    assert errors.shown("A" * 3000) == "A" * 59 + "\u2026"
