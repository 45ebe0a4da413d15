"""What a limit is: the value objects that the rule files are read into.

Everything here is in metres and knows no array, map or aircraft. Planning turns a `Rule` into
surfaces; the number itself stands only in the rule's file.
"""

from __future__ import annotations

from collections.abc import Collection
from enum import StrEnum
from pathlib import Path
from typing import Final

from attrs import field, frozen, validators

from areaplan.rules.asking import Activity as Activity
from areaplan.rules.asking import Flight as Flight
from areaplan.rules.asking import Severity as Severity
from areaplan.rules.flying import Manoeuvre, WeatherMinimum
from areaplan.rules.sourced import Sourced

# Directions of departure that a glide is led in, 30 degrees apart, and so the most that a rule may
# ask for; each leads to one field.
DIRECTIONS: Final = 12


class RuleKind(StrEnum):
    """How a rule limits the aircraft; the `kind` key of a `[[rule]]` table."""

    HEIGHT_ABOVE_SURFACE = "height above surface"
    """Floor = highest ground under the aircraft + height."""
    HIGHEST_IN_RADIUS = "height above highest in radius"
    """Floor = highest top of the counted things within the radius of the aircraft + height."""
    SLANT_DISTANCE = "slant distance"
    """Never nearer than the radius to a counted thing, measured in any direction."""
    LATERAL_DISTANCE = "lateral distance"
    """Within the radius of a counted thing, floor = its top + height."""
    EMERGENCY_LANDING = "emergency landing"
    """High enough to land without undue hazard if the engine fails: judged by the glide."""
    CLOSED_OVER = "closed over"
    """Closed at every altitude over the given ground."""
    AIRSPACE_ENTRY = "airspace entry"
    """What a volume of the given classes or types asks of whoever enters."""
    AIRSPACE_COLUMN = "airspace column"
    """Closed at every altitude within the sides of surface areas of the given classes or types."""
    WIND_LIMIT = "wind limit"
    """Nobody flies in more wind than this: judged against the wind of the project."""
    WEATHER_LIMIT = "weather limit"
    """Least visibility, least ceiling, or both: judged where the project states the weather."""
    BRIEFING = "for the briefing"
    """A sentence that every flight obeys and no map can judge: told, never judged."""
    FIELD_IN_EVERY_DIRECTION = "field in every direction"
    """A field within gliding distance in so many of twelve directions, and so many fields."""


# What is told of as heights and distances, in this order; airspace, weather and wind apart.
HEIGHT_KINDS: Final = (
    RuleKind.HEIGHT_ABOVE_SURFACE,
    RuleKind.HIGHEST_IN_RADIUS,
    RuleKind.SLANT_DISTANCE,
    RuleKind.LATERAL_DISTANCE,
    RuleKind.EMERGENCY_LANDING,
    RuleKind.CLOSED_OVER,
    RuleKind.FIELD_IN_EVERY_DIRECTION,
)


class Counted(StrEnum):
    """What a height or a distance is measured from."""

    TERRAIN = "terrain"
    OBSTACLE = "obstacle"
    STRUCTURE = "structure"
    PERSON = "person"
    VESSEL = "vessel"
    VEHICLE = "vehicle"
    WIRE = "wire"
    NOISE = "noise-sensitive"
    AIRWAY = "airway"


class Ground(StrEnum):
    """What the aircraft is over; "anywhere" in a file stands for all four.

    Congested areas, assemblies and sparse country (which takes in open water) are polygons that a
    person drew. `OTHER` is the rest.
    """

    CONGESTED = "congested"
    ASSEMBLY = "assembly"
    SPARSE = "sparse"
    OTHER = "other"


class Entry(StrEnum):
    """What a volume of airspace asks, from the mildest to the strictest.

    UNKNOWN stands before NO_ENTRY: nothing is stricter than a known "no", and anything milder may
    be wrong.
    """

    OPEN = "open"
    TWO_WAY_RADIO = "two-way radio"
    CLEARANCE = "clearance"
    UNKNOWN = "unknown"
    NO_ENTRY = "no entry"


@frozen
class ExampleThing:
    """A thing that stands near the aircraft in a worked example.

    Attributes
    ----------
    counted : Counted
        What it is.
    top_amsl_m : float
        Its top above mean sea level, metres.
    horizontal_distance_m : float
        From the point below the aircraft to the nearest part of the thing, metres.
    """

    counted: Counted
    top_amsl_m: float
    horizontal_distance_m: float = field(validator=validators.ge(0.0))


@frozen
class Example:
    """A worked example of one rule: a situation and the answer that the rule must give.

    Attributes
    ----------
    source : str
        Who worked it, or from which words it follows.
    ground : Ground
        What the aircraft is over.
    terrain_amsl_m : float
        Highest ground under the aircraft, metres above mean sea level.
    things : tuple of ExampleThing
        Everything else that matters; nothing more stands within reach.
    altitude_amsl_m : float or None
        An altitude to judge, metres above mean sea level.
    is_allowed : bool or None
        The answer at that altitude; given together with it.
    expected_floor_amsl_m : float or None
        Lowest altitude that this rule allows: negative infinity where it asks for nothing,
        positive infinity where it closes the place.
    """

    source: str
    ground: Ground
    terrain_amsl_m: float
    things: tuple[ExampleThing, ...] = ()
    altitude_amsl_m: float | None = None
    is_allowed: bool | None = None
    expected_floor_amsl_m: float | None = None


@frozen
class ChoiceExample:
    """A worked example of a rule on the choice of fields: what is in reach, and the answer.

    Attributes
    ----------
    source : str
        Who worked it, or from which words it follows.
    sectors_with_field : int
        Of twelve directions, those with a field within gliding distance.
    separate_fields : int
        How many different fields these lead to.
    is_allowed : bool
    """

    source: str
    sectors_with_field: int
    separate_fields: int
    is_allowed: bool


@frozen
class Rule(Sourced):
    """One limit, with the sentence that sets it.

    Attributes
    ----------
    id : str
        Unique within its set, for instance "us-91.119-b".
    title : str
        A few plain words.
    kind : RuleKind
        How it limits.
    severity : Severity
        Who asks for it.
    where : tuple of Ground
        Where the aircraft must be for the rule to apply; all four for "anywhere".
    activity : Activity
        Which flying it is about.
    applies_to : Flight
        Who must be flying for the rule to apply.
    height_m : float or None
        Metres; positive infinity for "unlimited"; None for kinds without a height.
    height_text : str
        As printed, "" without a height.
    radius_m : float or None
        Metres; None for kinds without a radius.
    radius_text : str
        As printed, "" without a radius.
    binding_unit : str
        Unit that binds where the text prints a pair, such as "m" of "300 m (1,000 ft)"; else "".
    is_radius_inclusive : bool
        Whether a thing at exactly the radius counts ("within") or not ("closer than").
    counts : tuple of Counted
        What height and radius are measured from; empty for kinds that measure from the ground.
    airspace_classes, airspace_types : tuple of str
        Class letters and published type codes, upper case; for the airspace kinds.
    entry : Entry or None
        What the airspace asks; for AIRSPACE_ENTRY.
    wind_mps : float or None
        Greatest wind, metres a second; for WIND_LIMIT.
    wind_text : str
        As printed, "" without a wind.
    visibility_m, ceiling_agl_m : float or None
        Least flight visibility, and least height of the lowest broken cloud above the ground,
        metres; for WEATHER_LIMIT, where either may be None.
    visibility_text, ceiling_text : str
        As printed, "" without.
    examples : tuple of Example
        Worked examples; tests run them all.
    least_sectors : int or None
        Of twelve directions, the least number that must have a field within gliding distance; for
        FIELD_IN_EVERY_DIRECTION.
    least_separate_fields : int or None
        The least number of different fields that they must lead to; None where one will do.
    choice_examples : tuple of ChoiceExample
        Worked examples of a FIELD_IN_EVERY_DIRECTION rule, which has no others.
    """

    id: str = field(validator=validators.min_len(1))
    title: str = field(validator=validators.min_len(1))
    kind: RuleKind
    severity: Severity
    where: tuple[Ground, ...] = field(validator=validators.min_len(1))
    activity: Activity
    applies_to: Flight
    height_m: float | None = field(validator=validators.optional(validators.ge(0.0)))
    height_text: str
    radius_m: float | None = field(validator=validators.optional(validators.gt(0.0)))
    radius_text: str
    binding_unit: str
    is_radius_inclusive: bool
    counts: tuple[Counted, ...]
    airspace_classes: tuple[str, ...]
    airspace_types: tuple[str, ...]
    entry: Entry | None
    wind_mps: float | None = field(validator=validators.optional(validators.gt(0.0)))
    wind_text: str
    visibility_m: float | None = field(validator=validators.optional(validators.gt(0.0)))
    visibility_text: str
    ceiling_agl_m: float | None = field(validator=validators.optional(validators.gt(0.0)))
    ceiling_text: str
    examples: tuple[Example, ...]
    least_sectors: int | None = None
    least_separate_fields: int | None = None
    choice_examples: tuple[ChoiceExample, ...] = ()

    def is_in_force(self, activities: Collection[str], flight: Flight = Flight.BOTH) -> bool:
        """Whether the rule is about any of a project's activities, and about who flies."""
        is_flown = self.activity is Activity.ANY or self.activity in activities
        return is_flown and (Flight.BOTH in (self.applies_to, flight) or self.applies_to is flight)


@frozen
class RuleSet:
    """The rules of one authority, or of one school.

    Attributes
    ----------
    id : str
        Name of a built-in set, or the word that a school's file gives itself.
    title, authority : str
        What it is and who issues it.
    rules : tuple of Rule
        In file order; those of included sets first.
    weather : tuple of WeatherMinimum
        Least weather for visual flight, for each class from the lowest layer up; none where the set
        does not hold the table.
    manoeuvres : tuple of Manoeuvre
        Heights of manoeuvres; a school's own beside those that come with areaplan.
    notes : tuple of str
        What a reader must know about the set as a whole, such as rules that it does not hold.
    types_ruled_by_class : tuple of str
        Published type codes that say nothing about entry by themselves (a control zone is entered
        by the rules of its class), upper case.
    path : Path or None
        The file, None for a built-in set.
    sha256 : str
        Hexadecimal digest of the file; of a set that includes others, of all their files.
    """

    id: str
    title: str
    authority: str
    rules: tuple[Rule, ...]
    weather: tuple[WeatherMinimum, ...]
    manoeuvres: tuple[Manoeuvre, ...]
    notes: tuple[str, ...]
    types_ruled_by_class: tuple[str, ...]
    path: Path | None
    sha256: str


def examples_of(rule_set: RuleSet) -> tuple[tuple[Rule, Example], ...]:
    """Every worked example of a set, each with its rule, in file order."""
    return tuple((rule, example) for rule in rule_set.rules for example in rule.examples)
