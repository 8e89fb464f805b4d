"""How a part says what is wrong with it, and refuses to be made wrong."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal, TypeGuard


@dataclass(frozen=True)
class Fault:
    """One thing wrong with a part: where, what stands there, what would do.

    ``level`` is "error" (no wheel can be made) or "warning" (unusual, but it goes on).
    """

    field: str
    value: object
    expected: str
    level: Literal["error", "warning"] = "error"

    def __str__(self) -> str:
        return f"{self.field}: {self.value!r}; {self.expected}"


class PartError(ValueError):
    """A part that can't be made; ``faults`` lists all that is wrong with it."""

    def __init__(self, part: str, faults: Iterable[Fault]) -> None:
        self.part = part
        self.faults = tuple(faults)
        super().__init__("; ".join(f"{part} {fault}" for fault in self.faults))


def is_number(value: object) -> TypeGuard[float]:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)


def require(name: str, value: object, low: float, high: float, *, above: bool = False, unit: str = "m",
            scale: float = 1.0) -> Fault | None:
    """Fault if value is not a finite number within [low, high] (or above low), else None.

    ``scale`` and ``unit`` are for the words only: the bounds as the bench writes them.
    """
    if is_number(value) and (low < value if above else low <= value) and value <= high:
        return None
    start = "more than" if above else "from"
    return Fault(name, value, f"expected {start} {low / scale:g} to {high / scale:g} {unit}".rstrip())


class Part:
    """Base of the parts: refuses to be born with an error among its faults."""

    def __post_init__(self) -> None:
        errors = [fault for fault in self.faults() if fault.level == "error"]
        if errors:
            raise PartError(type(self).__name__.lower(), errors)

    def faults(self) -> list[Fault]:
        """All that is wrong or unusual with this part, in the order of its fields."""
        return [fault for fault in self._rules() if fault is not None]

    def _rules(self) -> Iterator[Fault | None]:
        raise TypeError(f"{type(self).__name__} states no rules")
