"""How different two colours look: CIEDE2000, for normal vision and three kinds of colour blindness.

CIEDE2000 after Sharma, Wu, Dalal, "The CIEDE2000 color-difference formula", Color Research and
Application 30 (2005); sRGB after IEC 61966-2-1; colour blindness after Machado, Oliveira and
Fernandes, "A physiologically-based model for simulation of color vision deficiency", IEEE TVCG 15
(2009), matrices of severity 1.0 (from memory).
"""

import math

import numpy as np

VISIONS = {
    "normal": np.eye(3),
    "protan": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216],
         [-0.003882, -0.048116, 1.051998]]
    ),
    "deutan": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413],
         [-0.011820, 0.042940, 0.968881]]
    ),
    "tritan": np.array(
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602],
         [0.004733, 0.691367, 0.303900]]
    ),
}  # fmt: skip
_TO_XYZ = np.array(
    [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750],
     [0.0193339, 0.1191920, 0.9503041]]
)  # fmt: skip
_WHITE = np.array([0.95047, 1.0, 1.08883])  # D65


def lab(colour, vision="normal"):
    """CIELAB of a #RRGGBB as a kind of vision sees it."""
    channels = np.array([int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    linear = np.where(channels <= 0.04045, channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4)
    xyz = _TO_XYZ @ np.clip(VISIONS[vision] @ linear, 0.0, 1.0) / _WHITE
    f = np.where(xyz > (6 / 29) ** 3, np.cbrt(xyz), xyz / (3 * (6 / 29) ** 2) + 4 / 29)
    return 116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])


def difference(one, other):
    """CIEDE2000 of two CIELAB colours."""
    (l1, a1, b1), (l2, a2, b2) = one, other
    mean_c7 = ((math.hypot(a1, b1) + math.hypot(a2, b2)) / 2) ** 7
    g = 0.5 * (1 - math.sqrt(mean_c7 / (mean_c7 + 25**7)))
    a1, a2 = a1 * (1 + g), a2 * (1 + g)
    c1, c2 = math.hypot(a1, b1), math.hypot(a2, b2)
    h1 = math.degrees(math.atan2(b1, a1)) % 360 if c1 else 0.0
    h2 = math.degrees(math.atan2(b2, a2)) % 360 if c2 else 0.0
    dh = (h2 - h1 + 180) % 360 - 180 if c1 * c2 else 0.0
    big_dh = 2 * math.sqrt(c1 * c2) * math.sin(math.radians(dh / 2))
    mean_l, mean_c = (l1 + l2) / 2, (c1 + c2) / 2
    mean_h = (h1 + dh / 2) % 360 if c1 * c2 else h1 + h2
    t = (
        1
        - 0.17 * math.cos(math.radians(mean_h - 30))
        + 0.24 * math.cos(math.radians(2 * mean_h))
        + 0.32 * math.cos(math.radians(3 * mean_h + 6))
        - 0.20 * math.cos(math.radians(4 * mean_h - 63))
    )
    s_l = 1 + 0.015 * (mean_l - 50) ** 2 / math.sqrt(20 + (mean_l - 50) ** 2)
    s_c, s_h = 1 + 0.045 * mean_c, 1 + 0.015 * mean_c * t
    r_c = 2 * math.sqrt(mean_c**7 / (mean_c**7 + 25**7))
    r_t = -math.sin(math.radians(60 * math.exp(-(((mean_h - 275) / 25) ** 2)))) * r_c
    dl, dc, dh_ = (l2 - l1) / s_l, (c2 - c1) / s_c, big_dh / s_h
    return math.sqrt(dl**2 + dc**2 + dh_**2 + r_t * dc * dh_)
