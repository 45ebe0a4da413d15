"""Today's wind, pressure and temperature, and the project as it stands in them."""

from __future__ import annotations

from datetime import datetime
from typing import Final

from attrs import evolve, field, frozen, validators

from areaplan.atmosphere import LAPSE_K_PER_M, SEA_LEVEL_TEMPERATURE_K, altimeter_offset_m
from areaplan.errors import Fault, InputError
from areaplan.planning.project import Project, WindAloft
from areaplan.units import CELSIUS_ZERO_K, FOOT_M, HPA_PA, KNOT_MPS, Wind

# A setting is told in whole hectopascals, rounded down, and changes while a lesson is flown.
SETTING_SLACK_PA: Final = 1.0 * HPA_PA
# Beyond it somebody has mistaken the unit; the same bounds as a project's own deviation.
MOST_DEVIATION_K: Final = 60.0
SOURCE: Final = "given for the day sheet"
_PLACE: Final = "command line"


@frozen
class Conditions:
    """The air of one day, as observed or forecast.

    Attributes
    ----------
    time : datetime
        When the flight is planned, with its offset from UTC.
    wind : Wind
        At the ground, degrees true; with gusts the gust.
    altimeter_setting_pa : float
        The setting with which an altimeter shows altitude above mean sea level, pascals.
    temperature_k : float
        At the station, kelvins.
    winds_aloft : tuple of WindAloft
        Ascending; none where one wind is taken for all heights.
    """

    time: datetime
    wind: Wind
    altimeter_setting_pa: float = field(validator=validators.gt(0.0))
    temperature_k: float = field(validator=validators.gt(0.0))
    winds_aloft: tuple[WindAloft, ...] = ()

    def pressure_altitude_m(self, altitude_amsl_m: float) -> float:
        """Altitude in the standard atmosphere of what an altimeter so set shows as `altitude`."""
        return altitude_amsl_m - altimeter_offset_m(self.altimeter_setting_pa)

    def isa_deviation_k(self, station_amsl_m: float) -> float:
        """Temperature at a station above that of the standard atmosphere at its pressure."""
        standard_k = SEA_LEVEL_TEMPERATURE_K - LAPSE_K_PER_M * self.pressure_altitude_m(
            station_amsl_m
        )
        return self.temperature_k - standard_k


def require_usable(conditions: Conditions, project: Project) -> None:
    """Refuse conditions in which the day's glide can't be told, with every fault.

    Raises
    ------
    InputError
        A time without its offset from UTC; a wind that no glide makes headway against; winds
        aloft that do not reach the highest planned altitude.
    """
    faults = []
    if conditions.time.utcoffset() is None:
        faults.append(
            Fault(
                _PLACE,
                "--time",
                f"{conditions.time.isoformat()}, without its offset from UTC",
                "a date and time with its offset, such as 2026-11-25T15:00-06:00",
                "add the offset in force on that day: clocks that change are not guessed",
            )
        )
    best_mps = project.aircraft.best_glide_speed_mps
    told = [("--wind", conditions.wind), *(("--aloft", row.wind) for row in conditions.winds_aloft)]
    faults += [
        Fault(
            _PLACE,
            option,
            str(wind),
            f"less than the best glide speed, {best_mps / KNOT_MPS:.0f} kt",
            "check the unit; against such a wind no glide makes headway",
        )
        for option, wind in told
        if wind.speed_mps >= best_mps
    ]
    faults += _aloft_faults(conditions, project)
    if faults:
        raise InputError(faults)


def _aloft_faults(conditions: Conditions, project: Project) -> list[Fault]:
    heights_m = [row.height_amsl_m for row in conditions.winds_aloft]
    if not heights_m:
        return []
    highest_ft = project.planned_altitudes_amsl_ft[-1]
    if max(heights_m) / FOOT_M < highest_ft - 1e-6:
        return [
            Fault(
                _PLACE,
                "--aloft",
                f"no wind above {max(heights_m) / FOOT_M:.0f} ft AMSL",
                f"one at or above the highest planned altitude, {highest_ft} ft AMSL",
                "add the forecast wind there: the wind above the highest one is not known",
            )
        ]
    if len(set(heights_m)) < len(heights_m):
        return [
            Fault(
                _PLACE,
                "--aloft",
                "two winds for one altitude",
                "one wind for each altitude",
                "keep one of them",
            )
        ]
    return []


def project_on_day(project: Project, conditions: Conditions, station_amsl_m: float) -> Project:
    """The project with the day's wind, temperature, pressure and time in place of its own.

    Flight levels are turned into altitudes with the day's setting, `SETTING_SLACK_PA` either way.
    The year's winds are left out: they say nothing about a day.

    Raises
    ------
    InputError
        As `require_usable`; or a temperature that is `MOST_DEVIATION_K` off the standard.
    """
    require_usable(conditions, project)
    deviation_k = conditions.isa_deviation_k(station_amsl_m)
    if abs(deviation_k) > MOST_DEVIATION_K:
        raise InputError.single(
            _PLACE,
            "--temperature",
            found=f"{conditions.temperature_k - CELSIUS_ZERO_K:.0f} degC, {deviation_k:+.0f} degC "
            "from the standard",
            expected=f"within {MOST_DEVIATION_K:.0f} degC of the standard at the station",
            fix="check the unit, and the station's elevation",
        )
    day = conditions.time.date()
    setting_pa = conditions.altimeter_setting_pa
    return evolve(
        project,
        day=day,
        planned_time=conditions.time,
        sources=tuple(evolve(spec, day=day) for spec in project.sources),
        wind=conditions.wind,
        wind_source=SOURCE,
        winds_aloft=tuple(sorted(conditions.winds_aloft, key=lambda row: row.height_amsl_m)),
        isa_deviation_k=deviation_k,
        margins=evolve(
            project.margins,
            qnh_lowest_pa=setting_pa - SETTING_SLACK_PA,
            qnh_highest_pa=setting_pa + SETTING_SLACK_PA,
        ),
        climatology=None,
    )
