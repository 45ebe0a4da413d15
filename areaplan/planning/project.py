"""A project as read from its TOML file: the question that areaplan answers."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from pathlib import Path

from attrs import field, frozen

from areaplan.planning.briefing_words import BriefingWords
from areaplan.planning.gates import Gate, Route
from areaplan.planning.section_line import SectionLine
from areaplan.rules.asking import Flight
from areaplan.sources.spec import SourceSpec
from areaplan.units import Height, Wind


@frozen
class Aircraft:
    """The trainer, with where each figure comes from.

    Attributes
    ----------
    name : str
        Type, in the school's words.
    best_glide_speed_mps : float
        Speed for the greatest glide ratio, taken as calibrated airspeed.
    best_glide_ratio : float
        Distance over height lost, propeller as the handbook states, still air.
    glide_derating : float
        Share taken off the ratio (age, windmilling propeller, skill), 0 to below 1.
    manoeuvre_speed_mps : float
        Speed at which the lesson is flown, at which the engine may fail.
    stall_speed_mps : float
        Wings level, flaps up.
    landing_distance_m : float or None
        Over a 50 ft obstacle on a hard, level, dry runway at sea level, standard day, in calm air;
        None where not given.
    crosswind_limit_mps : float or None
        Greatest crosswind to land in; None where not given: then no direction fails for it.
    figure_sources : mapping of str to str
        Key of the project file to the words that say where the figure was found.
    """

    name: str
    best_glide_speed_mps: float
    best_glide_ratio: float
    glide_derating: float
    manoeuvre_speed_mps: float
    stall_speed_mps: float
    figure_sources: Mapping[str, str]
    landing_distance_m: float | None = None
    crosswind_limit_mps: float | None = None

    @property
    def glide_ratio_used(self) -> float:
        """Handbook ratio less the derating."""
        return self.best_glide_ratio * (1.0 - self.glide_derating)


@frozen
class Margins:
    """Cautions that the school puts on top of rules and data.

    Attributes
    ----------
    airspace_lateral_m, airspace_vertical_m : float
        Widening of every volume that is not open, metres.
    glide_clearance_m : float
        Height kept above ground, obstacles, wires and trees along the glide, metres.
    arrival_height_m : float
        Height above the field's highest ground at which the glide must arrive, metres.
    reaction_time_s : float
        Seconds flown on before the turn to the field begins.
    turn_bank_deg : float
        Bank of the gliding turn, degrees.
    qnh_lowest_pa, qnh_highest_pa : float
        Altimeter settings between which flight levels are turned into altitudes, pascals.
    """

    airspace_lateral_m: float
    airspace_vertical_m: float
    glide_clearance_m: float
    arrival_height_m: float
    reaction_time_s: float
    turn_bank_deg: float
    qnh_lowest_pa: float
    qnh_highest_pa: float


@frozen
class FieldLimits:
    """What the school asks of a field to land in.

    Attributes
    ----------
    width_m : float
        Width of the strip, metres.
    least_length_m : float
        Usable length below which no field counts, whatever the aircraft, metres.
    approach_slope : float
        Height over distance of the approach over what stands before the strip.
    steepest : float
        Greatest slope of the strip, either sign, rise over run.
    roughest_m : float
        Greatest standard deviation of the ground about the strip's plane, metres.
    wire_clearance_m : float
        How near the strip may come to wires, structures and obstacles, metres.
    is_candidate_counted : bool
        Whether fields that land cover proposes, and nobody has confirmed, count.
    is_key_asked : bool
        Whether a glide has to reach a field at a key position, from which a landing on a usable
        strip can be flown; else it may end anywhere over the field, at the arrival height.
    """

    width_m: float
    least_length_m: float
    approach_slope: float
    steepest: float
    roughest_m: float
    wire_clearance_m: float
    is_candidate_counted: bool
    is_key_asked: bool = False


@frozen
class Permission:
    """A declared permission to be in a volume that is otherwise closed.

    `airspace` is the volume's published name; `reason` says who gave it and how; `expires` is its
    last day (None: until revoked).
    """

    airspace: str
    reason: str
    expires: date | None = None


@frozen
class Inactive:
    """A declared time at which a volume is not active, so that it may be entered.

    `airspace` is the volume's published name; `reason` says how this is known, such as the number
    of a notice; `begins` and `ends` carry their offset from UTC, and the declaration proves nothing
    outside them.
    """

    airspace: str
    reason: str
    begins: datetime
    ends: datetime


@frozen
class Climatology:
    """The table of a year's winds: its file, and the words that say where it comes from."""

    path: Path
    source: str


@frozen
class StatedWeather:
    """The weather to judge by, as a person read it from a report or a forecast.

    Attributes
    ----------
    visibility_m : float
        Metres.
    visibility_text : str
        As written.
    ceiling : Height
        Lowest broken or overcast cloud, above mean sea level or above the ground; unlimited where
        there is none.
    ceiling_text : str
        As written.
    source : str
        The words that say where it comes from.
    """

    visibility_m: float
    visibility_text: str
    ceiling: Height
    ceiling_text: str
    source: str

    def __str__(self) -> str:
        return f"visibility {self.visibility_text}, ceiling {self.ceiling_text}"


@frozen
class WindAloft:
    """The wind at an altitude: metres AMSL, and the words that say where it comes from."""

    height_amsl_m: float
    wind: Wind
    source: str


@frozen
class Project:
    """One practice area and everything needed to judge it.

    Attributes
    ----------
    path : Path
        The project file.
    sha256 : str
        Its digest.
    name, school : str
        Titles for the outputs.
    day : date
        The day for which validity is judged: the file's `day`, else today.
    planned_altitudes_amsl_ft : tuple of int
        Planned altitudes, whole feet above mean sea level, ascending.
    rule_sets : tuple of str
        Built-in names ("us", "eu") or paths of policy files as written.
    rule_paths : tuple of Path or None
        For each rule set its resolved path, None for a built-in one.
    activities : tuple of str
        "training" always; "aerobatic" where the area is also meant for aerobatic flight, which
        brings the rules for it into force.
    aircraft : Aircraft
    wind : Wind
    wind_source : str
        Where the wind comes from.
    margins : Margins
    fields : FieldLimits
    cell_m : float
        Side of a grid cell.
    around_m : float
        How far beyond the area fields and limits are looked at.
    sources : tuple of SourceSpec
        Exactly one of kind AREA and one of kind TERRAIN among them.
    permissions : tuple of Permission
    flight : Flight
        Whose rules hold: dual, solo, or both, when the stricter decides.
    winds_aloft : tuple of WindAloft
        Ascending; none where the wind is the same at all heights.
    isa_deviation_k : float
        Temperature above that of the standard atmosphere, kelvins, at all altitudes.
    climatology : Climatology or None
        The winds of a year, for the share of it in which wind limits hold.
    gates : tuple of Gate
        Where aircraft enter and leave the area.
    routes : tuple of Route
        Lines flown to the area and back from it.
    briefing : BriefingWords or None
        What the school writes into the briefing; None without a `[briefing]` table.
    weather : StatedWeather or None
        Judged by every weather limit; None: what they ask is told.
    section : SectionLine or None
        Where the briefing's vertical section is cut instead of along the area.
    """

    path: Path
    sha256: str
    name: str
    school: str
    day: date
    planned_altitudes_amsl_ft: tuple[int, ...]
    rule_sets: tuple[str, ...]
    rule_paths: tuple[Path | None, ...]
    activities: tuple[str, ...]
    aircraft: Aircraft
    wind: Wind
    wind_source: str
    margins: Margins
    fields: FieldLimits
    cell_m: float
    around_m: float
    sources: tuple[SourceSpec, ...]
    permissions: tuple[Permission, ...] = field(default=())
    planned_time: datetime | None = None
    inactive: tuple[Inactive, ...] = ()
    flight: Flight = Flight.BOTH
    winds_aloft: tuple[WindAloft, ...] = ()
    isa_deviation_k: float = 0.0
    climatology: Climatology | None = None
    gates: tuple[Gate, ...] = ()
    routes: tuple[Route, ...] = ()
    briefing: BriefingWords | None = None
    weather: StatedWeather | None = None
    section: SectionLine | None = None
