"""The door from a result to its JSON, which `report.encode` writes together with the words in it."""

from importlib import import_module
from typing import Any


class Encoded:
    """A result that can be written as JSON.

    Results are data and stand above `report/`, where words are made; so its encoder is looked up when it is asked
    for: `wheelsim.<room>.anything` is encoded by `wheelsim.report.encode.<room>.encode`, a `functools.singledispatch`
    function on the type of the result.
    """

    __slots__ = ()

    def as_dict(self) -> dict[str, Any]:
        """The result as its JSON: strings, numbers, lists and None, units in the keys."""
        room = type(self).__module__.split(".")[1]
        encoded: dict[str, Any] = import_module(f"wheelsim.report.encode.{room}").encode(self)
        return encoded
