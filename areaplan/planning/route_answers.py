"""What is told of a route or a gate: verdict, smallest margins, stretches that fail."""

from __future__ import annotations

from attrs import frozen

from areaplan.planning.flown import FlownScene
from areaplan.planning.gates import Gate, Route
from areaplan.planning.plan import Binder, Verdict


@frozen
class Tightest:
    """Where a margin is the smallest along a route.

    Attributes
    ----------
    margin_ft : int or None
        Negative where not met; None where no altitude would do.
    lat, lon : float
        Degrees WGS 84.
    along_nm : float
        From the first point flown.
    track_deg_true : float
    binder : Binder or None
        What sets a legal margin; None for a glide's.
    required_amsl_ft : int or None
        What the glide asks for there; None for a legal margin, or where no altitude would do.
    field : str or None
        To which that glide leads.
    """

    margin_ft: int | None
    lat: float
    lon: float
    along_nm: float
    track_deg_true: float
    binder: Binder | None = None
    required_amsl_ft: int | None = None
    field: str | None = None


@frozen
class Stretch:
    """A part of a route that is not known to be both legal and with a field.

    Parts that fail and lie close together are told as one, the short gap with them.

    Attributes
    ----------
    begin_nm, end_nm : float
        From the first point flown; the same for a bend whose turn alone fails.
    is_unknown : bool
        Something is unknown all along; otherwise everything is known, and something not met.
    is_not_legal, is_without_field : bool
        What is known not to be met, in places or all along.
    legal, glide : Tightest or None
        Where it is worst, if so.
    """

    begin_nm: float
    end_nm: float
    is_unknown: bool
    is_not_legal: bool
    is_without_field: bool
    legal: Tightest | None
    glide: Tightest | None


@frozen
class RouteAnswer:
    """One route flown in one direction.

    Attributes
    ----------
    route : Route
    is_reversed : bool
        Flown from its last point to its first.
    verdict : Verdict
        MET when legal with a field within gliding distance all along.
    length_nm : float
    legal, glide : Tightest or None
        The smallest margins over what is known; None where nothing is.
    lowest_agl_ft : int or None
        Least height above the highest ground of a cell, over what is known.
    met_share, legal_share, field_share, unknown_share : float
        Shares of the length, each from 0 to 1; those met count only what is known.
    stretches : tuple of Stretch
        All that is not met, in the order flown.
    around_needed_m : float or None
        The `grid.around` from which the grid would hold the parts that are unknown for want of
        it; None where that is not why.
    lowest_met_amsl_ft : int or None
        Lowest altitude at which all of it would be legal with a field; None where unknown or none
        is, of those that glides were computed for.
    """

    route: Route
    is_reversed: bool
    verdict: Verdict
    length_nm: float
    legal: Tightest | None
    glide: Tightest | None
    lowest_agl_ft: int | None
    met_share: float
    legal_share: float
    field_share: float
    unknown_share: float
    stretches: tuple[Stretch, ...]
    around_needed_m: float | None
    lowest_met_amsl_ft: int | None = None


@frozen
class GateAnswer:
    """A gate at its altitude, whatever the heading.

    Attributes
    ----------
    gate : Gate
    verdict : Verdict
    legal, glide : Tightest or None
        `along_nm` is 0; the glide's track is the worst one.
    height_agl_ft : int or None
    to_edge_nm : float
        Distance to the edge of the area.
    is_in_area : bool
    around_needed_m : float or None
        As of a route.
    """

    gate: Gate
    verdict: Verdict
    legal: Tightest | None
    glide: Tightest | None
    height_agl_ft: int | None
    to_edge_nm: float
    is_in_area: bool
    around_needed_m: float | None


@frozen(eq=False)
class InAndOut:
    """Every gate and route of a project, judged.

    Attributes
    ----------
    scene : FlownScene
        What they were judged by.
    gates : tuple of GateAnswer
    routes : tuple of RouteAnswer
    """

    scene: FlownScene
    gates: tuple[GateAnswer, ...]
    routes: tuple[RouteAnswer, ...]

    @property
    def verdict(self) -> Verdict:
        """UNKNOWN while any is; MET when all are."""
        found = {gate.verdict for gate in self.gates} | {row.verdict for row in self.routes}
        if Verdict.UNKNOWN in found or not found:
            return Verdict.UNKNOWN
        return Verdict.NOT_MET if Verdict.NOT_MET in found else Verdict.MET
