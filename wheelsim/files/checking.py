"""Collects the faults of one file: those of its tables and those of the parts made from them."""

import difflib
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal, TypeGuard, TypeVar

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from wheelsim.files.errors import FileFault, shown
from wheelsim.files.schema import REFUSED, Table
from wheelsim.files.text import Tables
from wheelsim.files.values import To
from wheelsim.readings.reading import BySpoke
from wheelsim.wheel.rules import Fault, Part, PartError

T = TypeVar("T", bound=Table)
P = TypeVar("P", bound=Part)

FORMAT = 1
EXPECTED = {
    "float_type": "expected a number",
    "finite_number": "expected a finite number",
    "int_type": "expected a whole number",
    "string_type": "expected text in quotes",
    "bool_type": "expected true or false",
    "list_type": "expected a list",
    "dict_type": "expected a table",
    "greater_than": "expected more than {gt:g}",
    "greater_than_equal": "expected at least {ge}",
    "less_than_equal": "expected at most {le}",
    "too_short": "expected {min_length} entries, not {actual_length}",
    "too_long": "expected {max_length} entries, not {actual_length}",
    "literal_error": "expected {expected}",
    "value_error": "{error}",
}


@dataclass(frozen=True)
class Origin:
    """Where a part's field came from: key and value as the file writes them.

    ``value`` is None for a default. ``via`` says in words what the part's own rules judge when that
    is not the written number: "a radius of 45 mm; ". ``number`` is where the number of the spoke is
    written, when apart from the value.
    """

    key: str
    value: object
    via: str = ""
    number: "Origin | None" = None


class Checker:
    """Faults of one file, gathered while its tables become parts.

    ``origins`` maps the dotted fields of parts ("hub.left.offset") to their ``Origin``; ``unjudged`` holds
    the keys whose value is not known, so that no part's rule is told of them.
    """

    def __init__(self, file: str) -> None:
        self.file = file
        self.faults: list[FileFault] = []
        self.origins: dict[str, Origin] = {}
        self.unjudged: set[str] = set()

    def add(self, key: str, value: object, expected: str, level: Literal["error", "warning"] = "error") -> None:
        self.faults.append(FileFault(self.file, key, shown(value), expected, level))

    def too_new(self, tables: Tables, where: str) -> bool:
        """Whether a newer program wrote this; that is then its only fault."""
        written = tables.get("format")
        if type(written) is not int or written <= FORMAT:
            return False
        self.add(_join(where, "format"), written, f"written by a newer program; expected format {FORMAT}")
        return True

    def expect_table(self, found: object, where: str) -> TypeGuard[Tables]:
        """Whether what the file holds at ``where`` (None when nothing) is a table; a fault is added when not."""
        if isinstance(found, dict):
            return True
        self.add(where, found, "expected a table")
        return False

    def table(self, model: type[T], table: Tables, where: str) -> T:
        """The table checked for shape and type, after its faults are added.

        A value that is refused or missing hides nothing else: NaN (a number) or None stands in for it,
        and its key is noted as unjudged.

        Parameters
        ----------
        model : type of Table
        table : dict of str to object
            As the file writes it.
        where : str
            Dotted key of the table, "" for the whole file.
        """
        refused, left_out = self._combinations(model, table, where)
        entries: dict[str, set[int | str]] = {}
        try:
            checked = model.model_validate(table)
        except ValidationError as error:
            for one in error.errors(include_url=False):
                key, *below = str(one["loc"][0]), *one["loc"][1:]
                if one["type"] == "extra_forbidden":
                    left_out.add(key)
                    self._unknown(model, table, where, key)
                    continue
                if key in model.entries and below:
                    entries.setdefault(key, set()).add(below[0])
                else:
                    refused.add(key)
                self._mistyped(model, table, where, one)
        if not (refused or left_out or entries):
            return checked
        refused -= left_out
        self.unjudged.update(_join(where, key) for key in refused)
        known = {key: _without(value, entries.get(key, ())) for key, value in table.items() if key not in left_out}
        return model.model_validate(known | dict.fromkeys(refused, REFUSED))

    def _combinations(self, model: type[Table], table: Tables, where: str) -> tuple[set[str], set[str]]:
        """Adds the faults of keys that stand together or alone; returns those missing and those too many."""
        missing: set[str] = set()
        too_many: set[str] = set()
        for group in (*model.one_of, *model.at_least_one, *model.at_most_one):
            written = [key for key in group if key in table]
            if not written and group not in model.at_most_one:
                missing.add(group[0])
                several = "one or more" if group in model.at_least_one else "exactly one"
                self.add(_join(where, group[0]), None, f"expected {several} of {', '.join(group)}")
            for key in () if group in model.at_least_one else written[1:]:
                too_many.add(key)
                self.add(_join(where, key), table[key], f"expected without {written[0]}: only one of the two")
        for group in model.together:
            written = [key for key in group if key in table]
            for key in group if written else ():
                if key not in table:
                    missing.add(key)
                    self.add(_join(where, key), None, f"expected together with {written[0]}")
        return missing, too_many

    def _unknown(self, model: type[Table], table: Tables, where: str, key: str) -> None:
        names = [field.alias or name for name, field in model.model_fields.items()]
        near = _nearest(key, names)
        if key in model.elsewhere:
            hint = model.elsewhere[key]
        elif near:
            hint = f'did you mean "{near}"?'
        else:
            hint = f"expected one of {', '.join(names)}"
        self.add(_join(where, key), table[key], f"unknown key; {hint}")

    def _mistyped(self, model: type[Table], table: Tables, where: str, one: ErrorDetails) -> None:
        key, value = _written(table, one["loc"])
        if one["type"] == "missing":
            expected = f"expected {_description(model, str(one['loc'][0]))}"
        elif one["type"] == "float_type" and isinstance(value, int) and not isinstance(value, bool):
            expected = "expected a number of fewer digits"
        else:
            words = EXPECTED.get(one["type"])
            expected = words.format_map(one.get("ctx", {})) if words else one["msg"]
        self.add(_join(where, key), value, expected)

    def fields(self, table: Table, raw: Tables, where: str, prefix: str, n: int | None = None) -> dict[str, Any]:
        """The fields of a part that the keys of a checked table become, in SI; where each came from is noted.

        Parameters
        ----------
        table : Table
        raw : dict of str to object
            As the file writes it.
        where : str
            Dotted key of the table.
        prefix : str
            Dotted field of the part.
        n : int or None
            Spokes of the wheel, where known.

        Returns
        -------
        dict of str to object
            By name; what is absent and has no default in the schema is left to the part's own.
        """
        found: dict[str, Any] = {}
        for key, to in table.becomes().items():
            written, field = getattr(table, key), _join(prefix, to.field)
            origin = Origin(_join(where, key), raw.get(key))
            self.origins.setdefault(field, origin)
            if isinstance(written, dict):
                found[to.field] = self.trace_spokes(field, where, raw, key, written, n, to)
            elif written is not None:
                found[to.field] = value = to.value(written)
                self.origins[field] = replace(origin, via=to.words(value))
            elif origin.key in self.unjudged and not callable(to.unit):
                found[to.field] = None  # a word that was refused: the part's rule refuses None too
        return found

    def trace_spokes(self, prefix: str, where: str, table: Tables, key: str, written: Mapping[int, float],
                     n: int | None, to: To) -> BySpoke:
        """(spoke, value in SI) pairs of one value a spoke, in order of the spokes; see that a list has one for each.

        Parameters
        ----------
        prefix : str
            Dotted field of the part.
        where, table
            As in ``fields``.
        key : str
        written : mapping of int to float
            Checked, by number of the spoke.
        n : int or None
        to : To

        Returns
        -------
        tuple of (int, float)
            None after a list of the wrong length.
        """
        raw, key = table[key], _join(where, key)
        listed = isinstance(raw, list)
        if listed and n is not None and len(raw) != n:
            self.add(key, raw, f"expected {n} numbers, one a spoke, not {len(raw)}; or a table")
            return ()
        pairs = tuple((spoke, to.value(value)) for spoke, value in sorted(written.items()))
        for spoke, value in pairs:
            entry = f"{key}[{spoke}]" if listed else f"{key}.{spoke}"
            self.origins[f"{prefix}.{spoke}"] = Origin(entry, raw[spoke - 1] if listed else raw[str(spoke)],
                                                       to.words(value))
        return pairs

    def part(self, part: Callable[..., P], model: type[Table], raw: object, where: str, prefix: str) -> P | None:
        """The part all of whose fields stand in the one table that the file holds at ``where``; None after faults."""
        if not self.expect_table(raw, where):
            return None
        return self.make(part, prefix, **self.fields(self.table(model, raw, where), raw, where, prefix))

    def make(self, part: Callable[..., P], prefix: str, **fields: object) -> P | None:
        """The part, or None after its faults are added under the keys they came from."""
        try:
            return part(**fields)
        except PartError as error:
            self.translate(error.faults, prefix)
            return None

    def translate(self, faults: Iterable[Fault | None], prefix: str = "", *, own: bool = True) -> None:
        """Add faults of parts, None and unjudged keys left out, as faults of the file.

        ``own`` says that they are a part's own rules, which judge its SI value (``Origin.via``); else they
        judge the number of a spoke.
        """
        for fault in faults:
            if fault is None:
                continue
            field = _join(prefix, fault.field)
            origin = self.origins.get(field, Origin(field, fault.value))
            if origin.number and not own:
                origin = origin.number
            if origin.key in self.unjudged:
                continue
            value, default = origin.value, ""
            if isinstance(value, list) and fault.value in value:
                value = fault.value
            if value is None:
                value, default = fault.value, " (the default)"
            via = origin.via if own else ""
            self.faults.append(
                FileFault(self.file, origin.key, shown(value) + default, via + fault.expected, fault.level)
            )


def _join(where: str, key: str) -> str:
    return f"{where}.{key}" if where else key


def _without(value: object, refused: Collection[int | str]) -> object:
    """A list or table without the entries refused, named as pydantic locates them."""
    if not refused or not isinstance(value, (dict, list)):
        return value
    if isinstance(value, dict):
        return {key: entry for key, entry in value.items() if key not in refused}
    if all(isinstance(place, int) for place in refused):
        return [entry for place, entry in enumerate(value) if place not in refused]
    # A list with one entry a spoke, which the schema takes as a table.
    return {str(place): entry for place, entry in enumerate(value, 1) if str(place) not in refused}


def _description(model: type[Table], name: str) -> str | None:
    fields = {field.alias or key: field for key, field in model.model_fields.items()}
    return fields[name].description


def _written(table: Tables, location: tuple[int | str, ...]) -> tuple[str, object]:
    """Key and value that the file writes at pydantic's location; entries of lists count from 1."""
    key = ""
    value: object = table
    for step in location:
        if step == "[key]" or not isinstance(value, (dict, list)):
            break
        if isinstance(value, dict):
            key, value = _join(key, str(step)), value.get(step)
        else:
            # Text is the number of a spoke, from 1; a whole number the place in the list, from 0.
            place = int(step) - 1 if isinstance(step, str) else step
            key, value = f"{key}[{place + 1}]", value[place]
    return key, value


def _nearest(key: str, names: Sequence[str]) -> str | None:
    """The right key most like a wrong one: by the words they share, then by their letters; or None."""
    words = set(key.lower().split("_"))
    near = difflib.get_close_matches(key, names, n=len(names) or 1, cutoff=0.6)
    shared = [name for name in names if len(words & set(name.lower().split("_"))) > 1]

    def likeness(name: str) -> tuple[int, float]:
        return len(words & set(name.lower().split("_"))), difflib.SequenceMatcher(None, key, name).ratio()

    return max([*near, *shared], key=likeness, default=None)
