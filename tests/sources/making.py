"""Small files of every format, made by the tests, and the specs that name them."""

import json
import struct
import warnings
import zipfile

import geopandas
import numpy as np
import rasterio
import shapely
from rasterio.transform import Affine

from areaplan.sources.layers import SourceKind
from areaplan.sources.spec import SourceSpec

DRIVERS = {".gpkg": "GPKG", ".geojson": "GeoJSON", ".shp": "ESRI Shapefile", ".kml": "KML"}


def spec_of(kind, *paths, **more):
    """Spec of files as a project would name them, by their last part."""
    more.setdefault("key", "source[2]")
    return SourceSpec(
        kind=SourceKind(kind), paths=tuple(paths), names=tuple(p.name for p in paths), **more
    )


def write_features(path, rows, crs="EPSG:4326", **options):
    """Write (geometry, attributes) pairs in the format of the path's ending."""
    columns = {key for _, attributes in rows for key in attributes}
    table = geopandas.GeoDataFrame(
        {key: [attributes.get(key) for _, attributes in rows] for key in sorted(columns)},
        geometry=[geometry for geometry, _ in rows],
        crs=crs,
    )
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # no CRS, field names cut to ten characters
        table.to_file(path, driver=DRIVERS[path.suffix], **options)
    return path


def feature(geometry, **properties):
    """GeoJSON feature from a shapely geometry, a GeoJSON mapping or None."""
    if geometry is not None and not isinstance(geometry, dict):
        geometry = shapely.geometry.mapping(geometry)
    return {"type": "Feature", "properties": properties, "geometry": geometry}


def write_geojson(path, *features, **members):
    """Write a GeoJSON collection as raw JSON, without a library that would tidy it up."""
    path.write_text(json.dumps({"type": "FeatureCollection", **members, "features": features}))
    return path


def write_geotiff(path, heights, transform, crs="EPSG:4326", *, unit=None, tags=None, **profile):
    """Write one band of heights."""
    heights = np.asarray(heights)
    profile.setdefault("count", 1)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # files without georeference
        with rasterio.open(
            path,
            "w",
            driver="GTiff",
            height=heights.shape[0],
            width=heights.shape[1],
            dtype=heights.dtype,
            crs=crs,
            transform=transform,
            **profile,
        ) as data:
            for band in range(1, profile["count"] + 1):
                data.write(heights, band)
            if unit is not None:
                data.units = (unit,) * profile["count"]
            if tags:
                data.update_tags(**tags)
    return path


def lonlat_transform(west, north, step):
    """Transform of a GeoTIFF whose outermost north-west pixel centre lies at west, north."""
    return Affine(step, 0.0, west - step / 2, 0.0, -step, north + step / 2)


def write_hgt(path, heights):
    """Write an SRTM tile: big-endian 16-bit, row by row from the north (NASA/JPL SRTM FAQ)."""
    heights = np.asarray(heights)
    raw = b"".join(struct.pack(f">{len(row)}h", *row) for row in heights.astype(int).tolist())
    if path.name.endswith(".zip"):
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr(path.name[: -len(".zip")], raw)
    else:
        path.write_bytes(raw)
    return path


def faults_of(error):
    """Faults of a caught InputError; each must be two lines that name file and fix."""
    for fault in error.value.faults:
        lines = str(fault).split("\n")
        assert len(lines) == 2
        assert lines[1].startswith("  fix: ")
        assert len(lines[1]) > len("  fix: ")
        assert fault.place
        assert fault.found
        assert fault.expected
    return error.value.faults
