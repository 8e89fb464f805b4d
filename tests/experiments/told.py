"""Holds what an experiment says under Found against what its ``run()`` found."""

import re

from experiments import gallery

# A whole number: no part of a longer one, of a fraction or of a word.
NUMBER = re.compile(r"(?<![\w.,/])-?\d+(?:,\d{3})*(?:\.\d+)?(?:/\d+)?(?![\w/]|[.,]\d)")
QUANTITY = re.compile(f"({NUMBER.pattern})" + r"(?: (N/mm|mm|N|%|turns?|bar)(?!\w|/\w))?")
WORDS = ("none", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
         "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen")


def found_text(module):
    """What stands under Found, in one line."""
    return gallery.entry(module.__name__.rpartition(".")[2]).parts["Found"]


class Told:
    """What stands under Found of an experiment, held against numbers; ``left`` are those not yet told."""

    def __init__(self, module):
        self.text = found_text(module)
        self.spans = {one.span() for one in NUMBER.finditer(self.text)}
        self.untold = set(self.spans)

    def __call__(self, words, *values):
        """These words, with these values in the places they are formatted for, must stand there, numbers whole."""
        said = words.format(*values)
        here = [one.span() for one in NUMBER.finditer(said)]
        told = [{(at.start() + first, at.start() + last) for first, last in here}
                for at in re.finditer(re.escape(said), self.text)]
        told = [spans for spans in told if spans <= self.spans]
        assert told, f"Found doesn't say {said!r}, but: {self.text}"
        self.untold.difference_update(*told)

    @property
    def left(self):
        return [self.text[slice(*span)] for span in sorted(self.untold)]


def quantities(text):
    """Numbers with their units, a set of pairs; in "38 and 35 N" both are newtons."""
    found, unit, after = set(), "", None
    for one in reversed(list(QUANTITY.finditer(text))):
        joined = after is not None and text[one.end():after] in (" and ", ", ", " to ")
        unit = one[2] or (unit if joined else "")
        found.add((one[1], unit))
        after = one.start()
    return found
