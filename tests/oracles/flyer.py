"""Flies the engine's promises: a failure, a reaction, a turn, a glide, point by point.

The air is written down again here from the balance of forces, as exact arcs carried by the wind;
only the surfaces under test, and which cells they say lead to a field, come from the engine.
"""

from __future__ import annotations

import math

import numpy as np

from tests.oracles import glide_twin as twin

G = 9.80665
STEP_M = 4.0  # between two looks at the ground
FLOAT_M = 1e-6


class Flyer:
    """An aircraft over a country, both known exactly. Metres from the north-west corner.

    `surface` and `arrival` as the engine takes them, NaN and infinity included.
    """

    def __init__(self, surface, arrival, cell_m, *, tas, ratio, bank, seconds, manoeuvre, wind):
        self.surface, self.arrival, self.cell_m = surface, arrival, cell_m
        self.tas, self.ratio, self.seconds, self.manoeuvre = tas, ratio, seconds, manoeuvre
        self.wind_mps, self.wind_from = wind
        source = math.radians(self.wind_from)
        self.wind = -self.wind_mps * np.array([math.sin(source), math.cos(source)])
        slope = math.atan(1.0 / ratio)
        self.along, self.sink = tas * math.cos(slope), tas * math.sin(slope)
        load = 1.0 / math.cos(math.radians(bank))
        steep = math.atan(load / ratio)  # drag over lift is 1 / ratio, lift n W cos(steep)
        turn = tas * math.sqrt(load * math.cos(steep) / math.cos(slope))
        self.turn_tas, self.turn_along, self.turn_sink = (
            turn,
            turn * math.cos(steep),
            turn * math.sin(steep),
        )
        self.rate = G * math.tan(math.radians(bank)) / turn
        self.per_metre = {
            move: twin.loss_per_metre(twin.bearing_deg(move), tas, ratio, *wind)
            for move in twin.stencil()
        }

    def cell(self, place):
        """Row and column under a place (metres east, metres north of the corner); None off it."""
        row, col = math.floor(-place[1] / self.cell_m), math.floor(place[0] / self.cell_m)
        rows, cols = self.surface.shape
        return (row, col) if 0 <= row < rows and 0 <= col < cols else None

    def is_clear(self, places, heights):
        """Whether known ground lies at or below every place."""
        for place, height in zip(places, heights, strict=True):
            cell = self.cell(place)
            if cell is None or not self.surface[cell] <= height + FLOAT_M:
                return False
        return True

    def heading(self, track_deg, speed):
        """Heading that keeps a track, by the law of sines."""
        angle = math.radians(self.wind_from - track_deg)
        return track_deg + math.degrees(math.asin(self.wind_mps * math.sin(angle) / speed))

    def after_reaction(self, place, height, track_deg, stretch_s):
        """Fly straight on: (heading, place, height) when the turn begins, or None if not clear."""
        legs = [(self.manoeuvre, self.seconds, self.reaction_sink())]
        if stretch_s:
            legs.append((self.along, stretch_s, self.sink * stretch_s))
        heading = track_deg
        for speed, seconds, loss in legs:
            ground = twin.groundspeed(track_deg, speed, self.wind_mps, self.wind_from)
            way = (
                ground
                * seconds
                * np.array([math.sin(math.radians(track_deg)), math.cos(math.radians(track_deg))])
            )
            heading = self.heading(track_deg, speed)
            shares = np.linspace(0.0, 1.0, max(2, math.ceil(np.hypot(*way) / STEP_M)))
            places = place + shares[:, np.newaxis] * way
            if not self.is_clear(places, height - shares * loss):
                return None
            place, height = place + way, height - loss
        return heading, place, height

    def reaction_sink(self):
        """Height gone in the reaction: drag of a parabolic polar, then the turn's speed gained."""
        quotient = self.manoeuvre / self.tas
        drag = self.seconds * self.sink * 0.5 * (quotient**3 + 1.0 / quotient)
        return max(0.0, drag + (self.turn_tas**2 - self.manoeuvre**2) / (2.0 * G))

    def arc(self, heading_deg, angle_deg, shares):
        """Displacements after shares of a turn (right positive): integral of the velocity."""
        begin = math.radians(heading_deg)
        signed = math.radians(angle_deg) * shares
        side = math.copysign(1.0, angle_deg)
        radius = self.turn_along / self.rate
        east = side * radius * (np.cos(begin) - np.cos(begin + signed))
        north = side * radius * (np.sin(begin + signed) - np.sin(begin))
        return np.stack([east, north], axis=-1) + np.outer(np.abs(signed) / self.rate, self.wind)

    def ways(self, place, height, track_deg, ahead, stretches):
        """Every clear turn that ends over a cell, at or above what it needs, on a first move."""
        for stretch_s in stretches:
            begun = self.after_reaction(place, height, track_deg, stretch_s)
            if begun is None:
                continue
            heading, start, high = begun
            for move, loss in self.per_metre.items():
                if not math.isfinite(loss):
                    continue
                right = (self.heading(twin.bearing_deg(move), self.along) - heading) % 360.0
                for angle in (right, right - 360.0):
                    low = high - self.turn_sink * math.radians(abs(angle)) / self.rate
                    over = self.cell(start + self.arc(heading, angle, np.array([1.0]))[0])
                    if over is None:
                        continue
                    for sector in range(12):
                        if (
                            twin.in_cone(move, sector, 15.0)
                            and ahead[sector][over] <= low + FLOAT_M
                        ):
                            yield sector, move, heading, start, high, angle, low

    def reaches_a_field(self, place, height, track_deg, surfaces, stretches=(0.0,)):
        """Whether some way out, flown to the end, is clear of the ground and ends over a field."""
        required, ahead = surfaces.required_amsl_m, surfaces.ahead_amsl_m
        for sector, move, heading, start, high, angle, low in self.ways(
            place, height, track_deg, ahead, stretches
        ):
            length = self.turn_along * math.radians(abs(angle)) / self.rate
            shares = np.linspace(0.0, 1.0, max(2, math.ceil(length / STEP_M)))
            places = start + self.arc(heading, angle, shares)
            if self.is_clear(places, high + shares * (low - high)) and self.glides(
                places[-1], low, sector, required, first=move
            ):
                return True
        return False

    def glides(self, place, height, sector, required, first=None):
        """Follow the moves of a sector down to a field; the first one is given after a turn."""
        for _ in range(sum(self.surface.shape) + 1):
            row, col = self.cell(place)
            if height + FLOAT_M >= max(self.arrival[row, col], self.surface[row, col]):
                return True
            move = first or self.best_move(row, col, sector, required)
            if move is None:
                return False
            first = None
            length = math.hypot(*move) * self.cell_m
            shares = np.linspace(0.0, 1.0, math.ceil(length / STEP_M))
            way = self.cell_m * np.array([move[1], -move[0]])
            end = height - self.per_metre[move] * length
            places = place + shares[:, np.newaxis] * way
            if not self.is_clear(places, height + shares * (end - height)):
                return False
            place, height = places[-1], end
        return False

    def best_move(self, row, col, sector, required):
        """The move that asks for the least at this cell, by the engine's own next cells."""
        best, least = None, math.inf
        for move, rate in self.per_metre.items():
            ahead = (row + move[0], col + move[1])
            inside = all(0 <= n < count for n, count in zip(ahead, self.surface.shape, strict=True))
            if not inside or not twin.in_cone(move, sector):
                continue
            loss = rate * math.hypot(*move) * self.cell_m
            under = [
                self.surface[row + south, col + east] + loss * share
                for (south, east), share in twin.cells_under(move).items()
            ]
            need = np.max([required[sector][ahead] + loss, *under])
            if need < least:  # never for NaN, which is ground that nobody knows
                best, least = move, need
        return best
