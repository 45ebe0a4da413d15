"""The public names of areaplan.

from pathlib import Path
from areaplan.api import answer_point, evaluate, read_project

plan = evaluate(read_project(Path("project.toml")))
print(plan.verdict, answer_point(plan, 41.2, -99.3, 2000).legal_floor_amsl_ft)
"""

from areaplan.errors import AreaplanError, Fault, InputError, OutsideDataError, QuantityError
from areaplan.planning.changes import Changes, compare_results
from areaplan.planning.evaluation import evaluate
from areaplan.planning.flight_review import FlightReview, review_flight
from areaplan.planning.flown import Course, CourseMargins, FlownScene, flown_scene, judge_course
from areaplan.planning.manoeuvres import ManoeuvreAnswer, answer_manoeuvres
from areaplan.planning.plan import (
    Binder,
    Block,
    CellClass,
    Cells,
    Finding,
    Limit,
    Plan,
    Shares,
    Verdict,
)
from areaplan.planning.point import Band, PointAnswer, answer_point
from areaplan.planning.project import Aircraft, Margins, Permission, Project
from areaplan.planning.project_file import read_project
from areaplan.planning.result import Result, result_of
from areaplan.planning.result_file import read_result
from areaplan.planning.routes import judge_gates, judge_routes
from areaplan.planning.site import Site, SiteAnswer
from areaplan.planning.site_winds import PlacesByWind, places_by_wind
from areaplan.planning.sites import find_sites
from areaplan.planning.vertical_placing import Placing, place_manoeuvres
from areaplan.render.as_json import plan_as_json, point_as_json
from areaplan.render.exports import Format, export_files, write_export
from areaplan.render.frames import class_frame, fields_frame, findings_frame
from areaplan.render.map import write_map
from areaplan.render.result_writing import write_result
from areaplan.render.text import plan_text, point_text
from areaplan.rules.figures_asked import builtin_figures
from areaplan.sources.recorded_flight import RecordedFlight, read_flight

__all__ = [
    "Aircraft",
    "AreaplanError",
    "Band",
    "Binder",
    "Block",
    "CellClass",
    "Cells",
    "Changes",
    "Course",
    "CourseMargins",
    "Fault",
    "Finding",
    "FlightReview",
    "FlownScene",
    "Format",
    "InputError",
    "Limit",
    "ManoeuvreAnswer",
    "Margins",
    "OutsideDataError",
    "Permission",
    "PlacesByWind",
    "Placing",
    "Plan",
    "PointAnswer",
    "Project",
    "QuantityError",
    "RecordedFlight",
    "Result",
    "Shares",
    "Site",
    "SiteAnswer",
    "Verdict",
    "answer_manoeuvres",
    "answer_point",
    "builtin_figures",
    "class_frame",
    "compare_results",
    "evaluate",
    "export_files",
    "fields_frame",
    "find_sites",
    "findings_frame",
    "flown_scene",
    "judge_course",
    "judge_gates",
    "judge_routes",
    "place_manoeuvres",
    "places_by_wind",
    "plan_as_json",
    "plan_text",
    "point_as_json",
    "point_text",
    "read_flight",
    "read_project",
    "read_result",
    "result_of",
    "review_flight",
    "write_export",
    "write_map",
    "write_result",
]
