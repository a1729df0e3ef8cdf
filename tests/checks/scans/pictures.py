"""Invented pages as image files: drawn, never photographed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image, ImageDraw

BLACK_PAPER = (38, 36, 35)


def draw_page(
    seed: int,
    *,
    items: int,
    size: tuple[int, int] = (600, 800),
    paper: tuple[int, int, int] = BLACK_PAPER,
) -> Image.Image:
    """Return a page of paper with its grain, and pale photographs pasted on it.

    Args:
        seed: pages with the same seed are the same.
        items: how many things lie on it; with 0 it is blank.
        size: width and height in pixels.
        paper: colour of the paper.
    """
    random = np.random.default_rng(seed)
    width, height = size
    grain = random.normal(0, 5, (height, width, 1))
    # One corner lies a little in the shade, as it does under a lamp.
    shade = np.linspace(-6, 6, width)[None, :, None]
    page = np.clip(np.asarray(paper) + grain + shade, 0, 255).astype(np.uint8)
    image = Image.fromarray(page)
    draw = ImageDraw.Draw(image)
    for _ in range(items):
        left = int(random.integers(width // 12, width // 2))
        top = int(random.integers(height // 12, height // 2))
        wide = int(random.integers(width // 5, width // 3))
        high = int(random.integers(height // 6, height // 3))
        draw.rectangle((left, top, left + wide, top + high), fill=(222, 214, 196))
        for _ in range(12):
            x, y = left + int(random.integers(wide)), top + int(random.integers(high))
            shade_of = int(random.integers(40, 200))
            radius = int(random.integers(4, 4 + wide // 6))
            draw.ellipse((x - radius, y - radius, x + radius, y + radius), fill=(shade_of,) * 3)
    return image


def save_page(path: Path, image: Image.Image, **how: Any) -> Path:
    """Save a page, making its folder; return the path."""
    path.parent.mkdir(parents=True, exist_ok=True)
    image.save(path, **({"dpi": (300, 300)} | how))
    return path
