"""Vertical datums of heights above mean sea level, by name; anything else is refused.

areaplan converts no heights between datums: the PROJ wheels carry no geoid grids, and a
transformation without its grid returns the height unchanged. So heights must come above mean sea
level, and a height above the ellipsoid, up to 100 m off, is an error.
"""

from __future__ import annotations

import re
from typing import Final

from areaplan.errors import InputError
from areaplan.sources._text import shown

# Name used in outputs, and other spellings. EPSG names of the vertical systems are these names
# followed by "height" (EPSG Geodetic Parameter Dataset).
_ORTHOMETRIC: Final = {
    "EGM84": (),
    "EGM96": (),
    "EGM2008": (),
    "NAVD88": ("North American Vertical Datum of 1988",),
    "NGVD29": ("National Geodetic Vertical Datum of 1929",),
    "CGVD28": (),
    "CGVD2013": ("CGVD2013(CGG2013)", "CGVD2013(CGG2013a)"),
    "AHD": ("Australian Height Datum",),
    "NZVD2009": (),
    "NZVD2016": (),
    "ODN": ("Ordnance Datum Newlyn",),
    "EVRF2000": (),
    "EVRF2007": (),
    "EVRF2019": (),
    "DHHN92": (),
    "DHHN2016": (),
    "NAP": ("Normaal Amsterdams Peil",),
    "NGF-IGN69": (),
    "LN02": (),
    "LHN95": (),
    "RH2000": (),
    "N2000": (),
    "N60": (),
    "NN2000": (),
    "DVR90": (),
    "Alicante": (),
    "Genoa 1942": (),
    "Cascais": (),
    "Malin Head": (),
    "Trieste": (),
    "Baltic 1977": (),
    "local mean sea level": ("mean sea level", "MSL", "AMSL"),
}
_LOCAL: Final = "local mean sea level"
_ELLIPSOIDAL: Final = re.compile(
    r"ELLIPSOID|ELLIPSOIDAL|HAE|WGS84|EPSG4979|GRS80|NAD83|ETRS89|GPS", re.ASCII
)


def orthometric_name(text: str, place: str, key: str) -> str:
    """Check the name of a vertical datum of heights above mean sea level.

    Parameters
    ----------
    text : str
        As written in the project, or as a file states it.
    place, key : str
        File and key path, for messages.

    Returns
    -------
    str
        The name used in outputs.

    Raises
    ------
    InputError
        Empty, ellipsoidal, or not in the table.
    """
    name = known_name(text)
    if name is not None:
        return name
    examples = "EGM96, EGM2008, NAVD88, NGVD29, ... or local mean sea level"
    if _ELLIPSOIDAL.search(_normal(text)):
        raise InputError.single(
            place,
            key,
            found=f"{shown(text)}: heights above the ellipsoid",
            expected=f"heights above mean sea level ({examples})",
            fix="subtract the geoid height of the place (for instance gdalwarp with a geoid grid "
            "such as EGM2008), or get the model with heights above mean sea level",
        )
    raise InputError.single(
        place,
        key,
        found=shown(text) if text.strip() else "no vertical datum is stated",
        expected=f"one of {', '.join(sorted(_ORTHOMETRIC, key=str.lower))}",
        fix='say what the heights refer to, for instance vertical_datum = "EGM96" for SRTM '
        'tiles; "local mean sea level" where a national datum is not in the list',
    )


def known_name(text: str) -> str | None:
    """Name used in outputs for a spelling of it or for an EPSG name, None where unknown."""
    return _BY_SPELLING.get(_normal(text))


def agrees(declared: str, in_file: str) -> bool:
    """Whether the datum that a project declares can be the one that a file states."""
    return _LOCAL in (declared, in_file) or declared == in_file


def _normal(text: str) -> str:
    """Letters and digits in capitals, without the unit in brackets and the word height."""
    bare = re.sub(r"\((ft|ftUS|m)\)", "", text)
    return re.sub(r"[^A-Z0-9]", "", re.sub(r"(?i)\bheight\b", "", bare).upper())


_BY_SPELLING: Final = {
    _normal(spelling): name for name, others in _ORTHOMETRIC.items() for spelling in (name, *others)
}
