"""Flies approaches: from a place and a track by turn, leg, turn and final to the touchdown.

The air is written down here once more from the balance of forces; turns are summed up in small
steps, and the two straight lengths come from a general solver of linear equations.
"""

from __future__ import annotations

import math

import numpy as np

G = 9.80665
STEP_S = 0.25
LEGS_DEG = range(0, 360, 15)


def ahead(bearing_deg):
    """A metre on a bearing, east and north."""
    return np.array([math.sin(math.radians(bearing_deg)), math.cos(math.radians(bearing_deg))])


class Flown:
    """A flown way: places (from the touchdown), heights lost there, and where its parts begin."""

    def __init__(self, places, lost, last_turn, final_m, final_loss):
        self.places, self.lost, self.last_turn = places, lost, last_turn
        self.final_m, self.final_loss = final_m, final_loss

    @property
    def loss(self):
        return self.lost[-1] + self.final_loss


class ApproachFlyer:
    """An aircraft at one airspeed in one steady wind."""

    def __init__(self, *, tas, ratio, bank_deg, wind_mps, wind_from_deg):
        slope = math.atan(1.0 / ratio)
        load = 1.0 / math.cos(math.radians(bank_deg))
        steep = math.atan(load / ratio)  # drag over lift is 1 / ratio, lift n W cos(steep)
        self.speed, self.sink = tas * math.cos(slope), tas * math.sin(slope)
        turn = tas * math.sqrt(load * math.cos(steep) / math.cos(slope))
        self.turn_speed, self.turn_sink = turn * math.cos(steep), turn * math.sin(steep)
        self.rate = G * math.tan(math.radians(bank_deg)) / turn
        self.wind = -wind_mps * ahead(wind_from_deg)

    def heading(self, track_deg):
        """Radians; the air's speed across the track makes up for the wind's."""
        u = ahead(track_deg)
        across = self.wind @ np.array([u[1], -u[0]])
        return math.radians(track_deg) - math.asin(across / self.speed)

    def loss_per_metre(self, track_deg):
        u = ahead(track_deg)
        across = self.wind @ np.array([u[1], -u[0]])
        return self.sink / (math.sqrt(self.speed**2 - across**2) + self.wind @ u)

    def turn(self, begin, angle):
        """Displacements on the way round a turn (right positive), and heights lost."""
        steps = max(2, math.ceil(abs(angle) / self.rate / STEP_S))
        middles = begin + angle * (np.arange(steps) + 0.5) / steps
        air = self.turn_speed * np.stack([np.sin(middles), np.cos(middles)], axis=1)
        step_s = abs(angle) / self.rate / steps
        lost = self.turn_sink * step_s * np.arange(1, steps + 1)
        return np.cumsum((air + self.wind) * step_s, axis=0), lost

    def ways(self, place, track_deg, landing_deg, side, final_m):
        """Every way by one of the legs, either way round to it, the last turn to one side."""
        last = self.heading(landing_deg)
        for leg_deg in LEGS_DEG:
            if abs(math.sin(math.radians(leg_deg - landing_deg))) < 0.05:
                continue
            on_leg = self.heading(leg_deg)
            right = (on_leg - self.heading(track_deg)) % math.tau
            for angle in (right, right - math.tau):
                one, lost_one = self.turn(self.heading(track_deg), angle)
                two, lost_two = self.turn(on_leg, side * ((side * (last - on_leg)) % math.tau))
                end = -final_m * ahead(landing_deg)
                left = end - place - one[-1] - two[-1]
                leg_m, rest_m = np.linalg.solve(
                    np.stack([ahead(leg_deg), ahead(landing_deg)], axis=1), left
                )
                if leg_m < -1e-6 or rest_m < -1e-6:
                    continue
                places = [place[np.newaxis], place + one]
                shares = np.linspace(0.0, 1.0, 40)
                places += [places[-1][-1] + np.outer(shares * leg_m, ahead(leg_deg))]
                turning = sum(map(len, places))
                places += [places[-1][-1] + two]
                leg_loss = shares * leg_m * self.loss_per_metre(leg_deg)
                lost = [np.zeros(1), lost_one, lost_one[-1] + leg_loss]
                lost += [lost[-1][-1] + lost_two]
                length = final_m + rest_m
                yield Flown(
                    np.concatenate(places),
                    np.concatenate(lost),
                    turning,
                    length,
                    length * self.loss_per_metre(landing_deg),
                )
