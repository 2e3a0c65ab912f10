"""README tells the truth: its sessions print what it says, its reference is the commands' help."""

from tests import docs


def test_readme_is_what_the_commands_print_now() -> None:
    text = docs.README.read_text(encoding="utf-8")
    assert docs.SESSION.search(text)
    assert docs.REFERENCE.search(text)
    assert docs.remade(text) == text
