"""What is flown and in which weather: manoeuvres with their heights, visual weather minima."""

from __future__ import annotations

from typing import Final

from attrs import field, frozen, validators

from areaplan.rules.asking import Activity, Flight, Severity
from areaplan.rules.sourced import Sourced

_SLACK_M: Final = 1e-6  # 500 ft and 1,200 ft are 1,700 ft: forgives float64 noise only
_HEIGHT = validators.optional(validators.ge(0.0))


@frozen
class WeatherMinimum(Sourced):
    """The least weather for visual flight in one layer of some airspace classes.

    A layer reaches up to the higher of its two tops; with neither it has no top. Layers of a class
    stand in the file from the lowest up, so the first whose top is not below the aircraft holds.

    Attributes
    ----------
    id, title : str
    airspace_classes : tuple of str
        Class letters, upper case.
    top_agl_m, top_amsl_m : float or None
        Top of the layer above ground and above mean sea level, metres.
    is_top_inclusive : bool
        Whether an aircraft exactly at the top belongs to the layer; without a top no matter.
    visibility_m : float
        Least flight visibility, metres.
    below_cloud_m, above_cloud_m, beside_cloud_m : float
        Least distances from cloud, metres; all 0 for "clear of clouds".
    visibility_text, below_cloud_text, above_cloud_text, beside_cloud_text : str
        As printed.
    """

    id: str = field(validator=validators.min_len(1))
    title: str = field(validator=validators.min_len(1))
    airspace_classes: tuple[str, ...] = field(validator=validators.min_len(1))
    top_agl_m: float | None = field(validator=_HEIGHT)
    top_amsl_m: float | None = field(validator=_HEIGHT)
    is_top_inclusive: bool
    visibility_m: float = field(validator=validators.gt(0.0))
    visibility_text: str
    below_cloud_m: float = field(validator=validators.ge(0.0))
    below_cloud_text: str
    above_cloud_m: float = field(validator=validators.ge(0.0))
    above_cloud_text: str
    beside_cloud_m: float = field(validator=validators.ge(0.0))
    beside_cloud_text: str

    def holds_at(self, altitude_amsl_m: float, ground_amsl_m: float) -> bool:
        """Whether the layer reaches up to an altitude above a given ground; metres."""
        tops_m = []
        if self.top_agl_m is not None:
            tops_m.append(ground_amsl_m + self.top_agl_m)
        if self.top_amsl_m is not None:
            tops_m.append(self.top_amsl_m)
        if not tops_m:
            return True
        slack_m = _SLACK_M if self.is_top_inclusive else -_SLACK_M
        return altitude_amsl_m < max(tops_m) + slack_m


@frozen
class Manoeuvre(Sourced):
    """A manoeuvre, the heights between which it is flown, and the height that it uses.

    Attributes
    ----------
    id : str
        The same word in the built-in file and in a school's: the stricter of the two holds.
    title : str
        A few plain words.
    severity : Severity
        Who asks for the heights.
    activity : Activity
        AEROBATIC for what only an area meant for it may hold.
    applies_to : Flight
        Who must be flying for the entry to apply.
    completion_agl_m : float or None
        Nobody is lower than this above the surface at any moment of it, metres; None where only the
        rules in force say how low.
    top_agl_m : float or None
        Nobody is higher than this above the surface, metres; None where nothing asks.
    above_highest_m, within_m : float or None
        Nobody is lower than this above the highest thing within that distance, metres.
    lowest_amsl_m, highest_amsl_m : float or None
        A school's own block for it, metres above mean sea level.
    height_used_m : float
        Lost between the entry and the lowest point, metres.
    height_gained_m : float
        Gained between the entry and the highest point, metres.
    heights_source : str
        Where the height used and gained come from.
    completion_text, top_text, above_highest_text, within_text : str
        As printed, "" without.
    """

    id: str = field(validator=validators.min_len(1))
    title: str = field(validator=validators.min_len(1))
    severity: Severity
    activity: Activity
    applies_to: Flight
    completion_agl_m: float | None = field(validator=_HEIGHT)
    completion_text: str
    top_agl_m: float | None = field(validator=_HEIGHT)
    top_text: str
    above_highest_m: float | None = field(validator=_HEIGHT)
    above_highest_text: str
    within_m: float | None = field(validator=_HEIGHT)
    within_text: str
    lowest_amsl_m: float | None
    highest_amsl_m: float | None
    height_used_m: float = field(validator=validators.ge(0.0))
    height_gained_m: float = field(validator=validators.ge(0.0))
    heights_source: str = field(validator=validators.min_len(1))

    def is_in_force(self, flight: Flight) -> bool:
        """Whether the entry is about who flies."""
        return Flight.BOTH in (self.applies_to, flight) or self.applies_to is flight
