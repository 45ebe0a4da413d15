"""A visit to the map in Chromium, and places to ask about; shared by the browser tests."""

import re

import numpy as np

from areaplan.planning.plan import NOBODY, UNKNOWN_FT, UNREACHABLE_FT
from tests.render.plan_fixture import plan
from tests.render.scenery import FRAME

FLAGS = [
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
DESKTOP = {"width": 1366, "height": 768}
PHONE = {"width": 390, "height": 844}
READY = "document.documentElement.dataset.ready"
# The steps that a pixel may show at places: each with the middle of that pixel, null off the tiles.
STEPS_AT = """(places) => places.map(([lat, lon]) => {
  const { map, ground } = areaplan.parts, zoom = map.getZoom();
  const p = map.project([lat, lon], zoom), key = [Math.floor(p.x / 256), Math.floor(p.y / 256)];
  const { palette } = ground.painting, kinds = palette.colours.length / 512;
  for (const [, tile] of ground.alive) {
    if (tile.z !== zoom || tile.coords.x !== key[0] || tile.coords.y !== key[1]) continue;
    const x = Math.floor((p.x - key[0] * 256) * ground.ratio);
    const y = Math.floor((p.y - key[1] * 256) * ground.ratio);
    const px = tile.context.getImageData(x, y, 1, 1).data;
    const value = (px[3] << 24 | px[2] << 16 | px[1] << 8 | px[0]) >>> 0;
    const centre = map.unproject(L.point(key[0] * 256 + (x + 0.5) / ground.ratio,
      key[1] * 256 + (y + 0.5) / ground.ratio), zoom);
    const found = [];
    for (let k = 0; k < kinds; k++) {
      if (palette.colours.subarray(k * 512, k * 512 + 512).includes(value)) found.push(k);
    }
    return { steps: found, lat: centre.lat, lon: centre.lng };
  }
  return null;
})"""


class Visit:
    """One page in a context of its own, with everything it complained about or asked for."""

    def __init__(self, browser, path, script="", **options):
        self.requests, self.complaints = [], []
        self.context = browser.new_context(offline=True, **options)
        self.context.route(re.compile("^(?!file:)"), lambda route: route.abort())
        self.page = self.context.new_page()
        self.page.on("request", lambda request: self.requests.append(request.url))
        self.page.on("console", lambda one: self.complaints.append(f"{one.type}: {one.text}"))
        self.page.on("pageerror", lambda error: self.complaints.append(f"error: {error}"))
        self.context.add_init_script(
            "window.violations = []; document.addEventListener('securitypolicyviolation', (e) => "
            "window.violations.push(e.violatedDirective + ' ' + e.blockedURI));" + script
        )
        self.page.goto(path.as_uri())
        self.page.wait_for_function(READY)

    def run(self, script, argument=None):
        return self.page.evaluate(script, argument)


def places_at_random(count, seed, inside=0.9):
    """Random longitudes and latitudes on the grid, some beyond it."""
    generator = np.random.default_rng(seed)
    grid = plan().grid
    reach = 1.0 / inside
    x_m = generator.uniform(grid.x_min_m, grid.x_max_m, count) * reach
    y_m = generator.uniform(grid.y_min_m, grid.y_max_m, count) * reach
    lon, lat = FRAME.to_lonlat(x_m, y_m)
    return [(float(a), float(b)) for a, b in zip(lat, lon, strict=True)]


def special_places():
    """One place in each peculiar region of the plan."""
    cells, grid = plan().cells, plan().grid
    masks = (
        cells.is_legal_unknown,
        cells.legal_floor_amsl_ft == UNREACHABLE_FT,
        cells.glide_required_amsl_ft == UNREACHABLE_FT,
        (cells.glide_required_amsl_ft == UNKNOWN_FT) & ~cells.is_legal_unknown,
        cells.terrain_amsl_ft == UNKNOWN_FT,
        cells.field == NOBODY,
        (cells.bands_binder[1, 0] != NOBODY) & (cells.bands_binder[0, 1] != NOBODY),
    )
    places = []
    for mask in masks:
        rows, cols = np.nonzero(mask)
        middle = rows.size // 2
        lon, lat = FRAME.to_lonlat(grid.centre_x_m()[cols[middle]], grid.centre_y_m()[rows[middle]])
        places.append((float(lat), float(lon)))
    inside_field = plan().fields[0].geometry.representative_point()
    return [*places, (inside_field.y, inside_field.x), (0.0, 0.0), (89.0, 179.0)]
