# SPDX-License-Identifier: GPL-3.0-or-later
"""What a deliverable's rules are held against: everything that was read from its files."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from fractions import Fraction
from typing import NamedTuple

from nightplan.brief.facts import ImageFacts, Look, MovieFacts, ZipFacts
from nightplan.brief.findings import Depth, FileSeen, Finding
from nightplan.brief.names import Run
from nightplan.brief.rules import Deliverable


class Picture(NamedTuple):
    """One frame or still."""

    name: str
    path: str
    bytes: int
    facts: ImageFacts
    #: frame number; None for a still
    number: int | None


class Shape(NamedTuple):
    """A picture as rules see it: as it is shown, turned and with its pixels' shape."""

    width: int
    height: int
    stored: tuple[int, int]
    pixel_aspect: Fraction
    bits: int
    alpha: bool
    colour: str
    format: str
    odd: str

    @property
    def aspect(self) -> Fraction:
        """Width to height as shown, the shape of a pixel counted in."""
        return Fraction(self.width, self.height) * self.pixel_aspect


@dataclass(slots=True)
class Subject:
    """One thing that was handed to the check: a sequence, a movie, a still, a ZIP, a folder or a text."""

    deliverable: Deliverable
    #: how findings name it
    label: str
    depth: Depth
    files: list[FileSeen] = field(default_factory=list)
    pictures: list[Picture] = field(default_factory=list)
    run: Run | None = None
    movie: MovieFacts | None = None
    zip: ZipFacts | None = None
    #: relative names, folders with a / at the end
    names: list[str] = field(default_factory=list)
    words: int | None = None
    #: by the name of the picture, or in the order of a movie under ""
    looks: dict[str, Look] = field(default_factory=dict)
    #: what was found while reading: faults of files, litter, links
    own: list[Finding] = field(default_factory=list)
    #: it is not there or cannot be read as what it should be: no rule can be measured
    unreadable: bool = False
    #: files whose faults are known, so that later passes need not name them again
    faulty: set[str] = field(default_factory=set)
    _shapes: list[tuple[Shape, list[Picture]]] | None = None

    @property
    def bytes(self) -> int:
        """Size of all its files."""
        return sum(f.bytes for f in self.files)

    def shapes(self) -> list[tuple[Shape, list[Picture]]]:
        """Pictures that are alike, the most frequent kind first; those with a faulty header are in none."""
        if self.movie is not None:
            return [(_movie_shape(self.movie), [])] if self.movie.width else []
        if self._shapes is None:
            # frames with the same header share one value: that spares comparing them
            by_facts: dict[int, list[Picture]] = defaultdict(list)
            for picture in self.pictures:
                by_facts[id(picture.facts)].append(picture)
            groups: dict[Shape, list[Picture]] = defaultdict(list)
            for pictures in by_facts.values():
                if not pictures[0].facts.fault:
                    groups[_image_shape(pictures[0].facts)] += pictures
            self._shapes = sorted(groups.items(), key=lambda g: -len(g[1]))
        return self._shapes

    def rate(self) -> Fraction | None:
        """Frames per second that durations are counted with: of the movie, or what the brief says of a sequence."""
        if self.movie is not None:
            return self.movie.rate or self.movie.header_rate
        return self.wanted_rate()

    def wanted_rate(self) -> Fraction | None:
        """Frames per second that the brief asks for; None where it leaves a choice."""
        from nightplan.brief.amounts import rate
        from nightplan.brief.rules import wanted_of

        if self.deliverable.fps is not None:
            return rate(self.deliverable.fps)
        for rule in self.deliverable.rules:
            if rule.kind == "fps" and rule.comparison == "exactly":
                return wanted_of(rule).numbers[0]
        return None


def _image_shape(facts: ImageFacts) -> Shape:
    width, height = facts.shown
    aspect = facts.pixel_aspect or Fraction(1)
    if abs(aspect - 1) < Fraction(1, 100):
        aspect = Fraction(1)
    if facts.turned:
        aspect = 1 / aspect
    return Shape(
        width,
        height,
        (facts.width, facts.height),
        aspect,
        facts.bit_depth,
        facts.alpha,
        facts.colour,
        facts.format,
        facts.odd,
    )


def _movie_shape(movie: MovieFacts) -> Shape:
    from nightplan.brief.names_of_formats import colour_words

    turned = movie.rotation % 180 == 90
    stored = (movie.width, movie.height)
    width, height = stored[::-1] if turned else stored
    aspect = movie.pixel_aspect or Fraction(1)
    if turned and aspect:
        aspect = 1 / aspect
    colour = colour_words(movie.primaries, movie.transfer)
    return Shape(width, height, stored, aspect, movie.bit_depth, movie.alpha, colour, movie.codec, "")


def numbers_of(pictures: list[Picture]) -> list[int]:
    """Frame numbers of the pictures that have one."""
    return [p.number for p in pictures if p.number is not None]
