"""Base class of results that can be written as JSON."""

from importlib import import_module
from typing import Any


class Encoded:
    """A result that can be written as JSON.

    JSON contains sentences, which only `report/` makes, and modules above `report/` must not import it. So the encoder
    is looked up when it is called: a class of `wheelsim.<room>` is encoded by `wheelsim.report.encode.<room>.encode`, a
    `functools.singledispatch` function on the type of the result.
    """

    __slots__ = ()

    def as_dict(self) -> dict[str, Any]:
        """The result as JSON types (dict, list, str, number, bool, None), with units in the keys."""
        room = type(self).__module__.split(".")[1]
        encoded: dict[str, Any] = import_module(f"wheelsim.report.encode.{room}").encode(self)
        return encoded
