"""The letter of an answer is the one that a person expects."""

from __future__ import annotations

from opnote.desk.editor.option_button import letters_for


def test_first_letter_goes_to_the_answer_that_begins_with_it() -> None:
    labels = ["All-inside anchors", "All-inside hook", "Inside-out", "Outside-in"]
    assert letters_for(labels) == ["a", "h", "i", "o"]


def test_no_letter_is_given_twice() -> None:
    labels = ["None", "Nylon", "Needle", "Not done", "No"]
    letters = [letter for letter in letters_for(labels) if letter]
    assert len(set(letters)) == len(letters)
