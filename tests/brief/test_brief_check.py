# SPDX-License-Identifier: GPL-3.0-or-later
"""The check as a whole: strength, ticks, time, depth, progress, limits, and what it never does."""

from __future__ import annotations

import datetime as dt
import io
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import worker_jobs
from hypothesis import given, settings
from hypothesis import strategies as st
from media_files import encoded, exr, frames, movie, picture, png, zipped
from PIL import Image

from nightplan.brief.check import check
from nightplan.brief.facts import MovieFacts
from nightplan.brief.findings import Report, report_values
from nightplan.brief.judge_frames import contradiction, sources_of
from nightplan.brief.limits import Limits
from nightplan.brief.probe_image import FIRST, read_header
from nightplan.brief.probe_movie import container_of, steady_rate
from nightplan.brief.probe_whole import whole_fault
from nightplan.brief.rules import deliverables_from_raw
from nightplan.brief.worker import Workers
from nightplan.model.errors import BadInput, Cancelled

NOW = dt.datetime(2027, 11, 1, 12, tzinfo=dt.UTC)


@pytest.fixture(scope="module")
def crew() -> Iterator[Workers]:
    with Workers(2) as workers:
        yield workers


def deliverable(what: str, *rules: dict[str, Any], **more: Any) -> Any:
    numbered = [{"id": f"r{n}", **rule} for n, rule in enumerate(rules)]
    return deliverables_from_raw([{"id": "piece", "name": "Piece", "what": what, "rules": numbered, **more}])[0]


def verdicts(report: Report) -> dict[str, str]:
    return {f.rule: f.verdict for f in report.findings if not f.own}


def test_strength_softens_a_breach(tmp_path: Path) -> None:
    still = tmp_path / "still.png"
    still.write_bytes(png(picture()))
    rules = [{"kind": "long-side", "value": 4096, "strength": s} for s in ("must", "should", "note")]
    report = check(deliverable("image", *rules), [still])
    assert verdicts(report) == {"r0": "fail", "r1": "warn", "r2": "your tick"}
    assert report.verdict == "fail"


def test_wording_and_breach_are_handed_on(tmp_path: Path) -> None:
    still = tmp_path / "still.png"
    still.write_bytes(png(picture()))
    rule = {"kind": "long-side", "value": 4096, "wording": "Stills are 4096 wide.", "breach": "You are out."}
    finding = check(deliverable("image", rule), [still]).of("r0")[0]
    assert (finding.wording, finding.breach) == ("Stills are 4096 wide.", "You are out.")
    assert finding.repair == "scale it to 4096 px"


def test_a_persons_ticks(tmp_path: Path) -> None:
    still = tmp_path / "still.png"
    still.write_bytes(png(picture()))
    asked = [{"kind": k} for k in ("tick", "declaration", "working-time", "kept-stage")]
    asked += [{"kind": "progress-post", "value": 2, "comparison": "at least"}, {"kind": "entry-count", "value": 1}]
    open_ones = check(deliverable("image", *asked), [still])
    assert set(verdicts(open_ones).values()) == {"your tick"}
    assert open_ones.verdict == "your tick"
    done = [{**rule, "ticked": True, "tick_note": "seen"} for rule in asked]
    report = check(deliverable("image", *done), [still])
    assert report.verdict == "pass"
    assert report.of("r0")[0].measured == "ticked by you: seen"


def test_publish_not_before(tmp_path: Path) -> None:
    still = tmp_path / "still.png"
    still.write_bytes(png(picture()))
    rule = {"kind": "publish-not-before", "value": "2027-11-01T13:30", "zone": "Europe/Berlin"}
    piece = deliverable("image", rule)
    assert verdicts(check(piece, [still], now=NOW)) == {"r0": "warn"}
    assert verdicts(check(piece, [still], now=NOW + dt.timedelta(minutes=30))) == {"r0": "pass"}
    assert verdicts(check(piece, [still])) == {"r0": "your tick"}


def test_a_file_that_is_still_written(tmp_path: Path) -> None:
    still = tmp_path / "still.png"
    still.write_bytes(png(picture()))
    written = dt.datetime.fromtimestamp(still.stat().st_mtime, dt.UTC)
    kinds = {f.kind for f in check(deliverable("image"), [still], now=written + dt.timedelta(seconds=1)).findings}
    assert "finished" in kinds
    kinds = {f.kind for f in check(deliverable("image"), [still], now=written + dt.timedelta(minutes=1)).findings}
    assert "finished" not in kinds


def test_duration_without_titles(tmp_path: Path) -> None:
    folder = frames(tmp_path / "shot", range(1, 49), lambda n: png(picture(n, 48, 27)))
    rule = {"kind": "duration", "value": 1, "counts": "without titles"}
    assert verdicts(check(deliverable("sequence", rule, fps=24), [folder])) == {"r0": "your tick"}
    assert verdicts(check(deliverable("sequence", {**rule, "titles_seconds": 1.0}, fps=24), [folder])) == {"r0": "pass"}
    assert verdicts(check(deliverable("sequence", {**rule, "titles_seconds": 0.5}, fps=24), [folder])) == {"r0": "fail"}
    # a sequence has no rate of its own
    assert verdicts(check(deliverable("sequence", rule), [folder])) == {"r0": "cannot tell"}


@pytest.mark.parametrize(
    ("count", "repair"), [(48, "bring it to 3 s (72 frames)"), (312, "bring it to 12 s (288 frames)")]
)
def test_the_repair_goes_to_the_nearer_end(tmp_path: Path, count: int, repair: str) -> None:
    folder = frames(tmp_path / "shot", range(1, count + 1), lambda n: png(picture(n, 48, 27)))
    rule = {"kind": "duration", "value": [3, 12], "comparison": "between"}
    report = check(deliverable("sequence", rule, fps=24), [folder])
    assert [f.repair for f in report.findings if f.kind == "duration"] == [repair]


@pytest.mark.parametrize(
    ("size", "verdict"), [(1_000_000, "pass"), (1_000_001, "warn"), (1_048_576, "warn"), (1_048_577, "fail")]
)
def test_both_meanings_of_mb(tmp_path: Path, size: int, verdict: str) -> None:
    text = tmp_path / "words.txt"
    text.write_bytes(b"x" * size)
    rule = {"kind": "file-size", "value": "1 MB", "comparison": "at most"}
    assert verdicts(check(deliverable("text", rule), [text])) == {"r0": verdict}


def test_repairs_name_the_frames(tmp_path: Path) -> None:
    folder = frames(
        tmp_path / "shot", [n for n in range(1, 121) if n not in (41, 87)], lambda n: png(picture(n, 48, 27))
    )
    report = check(deliverable("sequence", {"kind": "frame-count", "value": 120}), [folder], depth="headers")
    assert report.of("r0")[0].repair == "frames 41, 87 missing: render range 41, 87"
    folder = frames(tmp_path / "zero", range(121), lambda n: png(picture(n, 48, 27)))
    report = check(deliverable("sequence", {"kind": "frame-count", "value": 120}), [folder], depth="headers")
    assert report.of("r0")[0].repair == "frames 0 to 120 are 121: both ends count; leave out frame 0 or frame 120"


def test_files_one_by_one_and_the_folder_say_the_same(tmp_path: Path) -> None:
    folder = frames(tmp_path / "shot", range(1, 5))
    piece = deliverable("sequence", {"kind": "frame-count", "value": 4}, {"kind": "name", "value": "shot_####.png"})
    by_folder = check(piece, [folder])
    by_file = check(piece, sorted(folder.iterdir()))
    assert by_folder.findings == by_file.findings
    assert [f.name for f in by_folder.files] == [f.name for f in by_file.files]


def test_bad_paths(tmp_path: Path) -> None:
    piece = deliverable("movie")
    with pytest.raises(BadInput, match="there is no such file"):
        check(piece, [tmp_path / "gone.mp4"])
    with pytest.raises(BadInput, match="say which files"):
        check(piece, [])
    with pytest.raises(BadInput, match="must be a time with a zone"):
        check(piece, [tmp_path], now=dt.datetime(2027, 1, 1))
    with pytest.raises(BadInput, match="cannot be read"):
        check(piece, ["a\0b"])


def test_progress_and_cancel(tmp_path: Path, crew: Workers) -> None:
    folder = frames(tmp_path / "shot", range(1, 21))
    seen: list[float] = []
    piece = deliverable("sequence")
    check(piece, [folder], depth="deep", progress=seen.append, workers=crew)
    assert seen == sorted(seen)
    assert (seen[0], seen[-1]) == (0.0, 1.0)
    assert len(seen) > 5

    def stop(share: float) -> None:
        if share > 0.3:
            raise Cancelled

    with pytest.raises(Cancelled):
        check(piece, [folder], depth="deep", progress=stop, workers=crew)
    assert check(piece, [folder], depth="deep", workers=crew).verdict == "pass"


def test_nothing_is_written_or_followed(tmp_path: Path, crew: Workers) -> None:
    outside = tmp_path / "outside"
    frames(outside, [7])
    folder = frames(tmp_path / "shot", range(1, 4))
    os.symlink(outside, folder / "way-out")
    os.symlink(outside / "shot_0007.png", folder / "shot_0004.png")
    os.mkfifo(folder / "shot_0005.png")
    before = sorted((p.name, p.lstat().st_mtime_ns) for p in folder.iterdir())
    for what in ("sequence", "folder"):
        report = check(deliverable(what), [folder], depth="deep", workers=crew)
        assert "0007" not in str(report_values(report))
        assert {f.kind for f in report.findings if f.verdict == "fail"} == {"no-links"}
        assert len(report.files) == 3
    assert sorted((p.name, p.lstat().st_mtime_ns) for p in folder.iterdir()) == before


def test_limits_of_files_and_depth(tmp_path: Path) -> None:
    folder = frames(tmp_path / "shot", range(1, 21))
    report = check(deliverable("sequence"), [folder], depth="headers", limits=Limits(files=10))
    assert [f.verdict for f in report.findings if f.kind == "limits"] == ["cannot tell"]
    deep = tmp_path / "deep"
    deep.mkdir()
    place = deep
    for _ in range(5):
        place = place / "in"
        place.mkdir()
    report = check(deliverable("folder"), [deep], depth="headers", limits=Limits(folder_depth=3))
    assert [f.verdict for f in report.findings if f.kind == "limits"] == ["cannot tell"]


def test_a_header_that_is_contradicted_never_passes() -> None:
    base = {"container": "MP4", "width": 10, "height": 10, "rate": 24, "header_rate": 24}
    agreed = MovieFacts(**base, header_frames=120, header_seconds=5, packets=120, decoded=120)  # type: ignore[arg-type]
    assert contradiction(agreed) == ""
    for change in ({"decoded": 119}, {"packets": 121}, {"header_seconds": 4}, {"header_frames": 240}):
        values = {"header_frames": 120, "header_seconds": 5, "packets": 120, "decoded": 120, **change}
        assert contradiction(MovieFacts(**base, **values)) != ""  # type: ignore[arg-type]
    assert set(sources_of(agreed)) == {"header", "duration × rate", "packets", "decoded"}


def test_steady_rates() -> None:
    from fractions import Fraction

    base = Fraction(1, 1000)
    for rate in (Fraction(24), Fraction(24000, 1001), Fraction(30000, 1001), Fraction(25)):
        stamps = [round(1000 * n / rate) for n in range(200)]
        assert steady_rate(stamps, base, [])[0] == rate
        stamps[100] += 15
        assert steady_rate(stamps, base, [rate])[0] is None
    dropped = [n for n in range(100) if n != 50]
    assert steady_rate(dropped, Fraction(1, 24), [Fraction(24)]) == (None, Fraction(12), Fraction(24))


def test_containers_by_their_first_bytes(tmp_path: Path) -> None:
    for name, codec, kind in (
        ("a.mp4", "libx264", "MP4"),
        ("a.mov", "mpeg4", "MOV"),
        ("a.mkv", "mpeg4", "MKV"),
        ("a.webm", "libvpx-vp9", "WebM"),
        ("a.avi", "mpeg4", "AVI"),
        ("a.ts", "mpeg2video", "MPEG-TS"),
    ):
        path = movie(tmp_path / name, codec=codec, count=3, rate=25)
        assert container_of(path.read_bytes()[:256]) == kind
    for text in (b"#EXTM3U\n", b"ffconcat version 1.0\n", b"<MPD>", b"v=0\r\no=-", b"[playlist]\n", b""):
        assert container_of(text) == ""


_WHOLE = {
    "png": png(picture(1)),
    "interlaced": png(picture(1)),
    "jpeg": encoded(Image.fromarray(picture(1)), "JPEG", progressive=True),
    "tiff": encoded(Image.fromarray(picture(1)), "TIFF", compression="tiff_lzw"),
    "webp": encoded(Image.fromarray(picture(1)), "WEBP"),
    "gif": encoded(Image.fromarray(picture(1)), "GIF"),
}


@pytest.fixture(scope="module")
def exr_bytes(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    return exr(tmp_path_factory.mktemp("exr") / "a.exr").read_bytes()


def _read(data: bytes) -> None:
    header = read_header(data[:FIRST], lambda at, size: data[at : at + size])
    assert header.fault or (header.width > 0 and header.height > 0)
    assert isinstance(whole_fault(data), str)


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(sorted(_WHOLE)), st.data())
def test_readers_survive_any_damage(kind: str, data: st.DataObject) -> None:
    _damage(_WHOLE[kind], data)


@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_the_exr_reader_survives_any_damage(exr_bytes: bytes, data: st.DataObject) -> None:
    _damage(exr_bytes, data)


def _damage(whole: bytes, data: st.DataObject) -> None:
    damaged = bytearray(whole)
    for _ in range(data.draw(st.integers(0, 4))):
        # headers are where readers can go wrong
        at = data.draw(st.integers(0, min(len(damaged), 700) - 1))
        damaged[at] = data.draw(st.integers(0, 255))
    _read(bytes(damaged[: data.draw(st.integers(0, len(damaged)))]))


@given(
    st.binary(max_size=300),
    st.sampled_from([b"", b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff", b"II*\0", b"MM\0*", b"\x76\x2f\x31\x01", b"RIFF"]),
)
def test_readers_survive_noise(noise: bytes, start: bytes) -> None:
    _read(start + noise)


def test_cut_anywhere_a_picture_is_never_whole(exr_bytes: bytes) -> None:
    for whole in [*_WHOLE.values(), exr_bytes]:
        assert whole_fault(whole) == ""
        for share in np.linspace(0.02, 0.98, 15):
            assert whole_fault(whole[: int(len(whole) * share)]) != ""


def test_headers_against_pillow() -> None:
    """Size, mode and format as Pillow reads them."""
    image = Image.fromarray(picture(1, 130, 70))
    for mode in ("L", "RGB", "RGBA", "1", "I;16", "P", "LA", "CMYK"):
        for kind in ("PNG", "JPEG", "TIFF", "WEBP"):
            made = image.convert("L").convert("I;16") if mode == "I;16" else image.convert(mode)
            try:
                data = encoded(made, kind)
            except (OSError, ValueError, KeyError):
                continue
            facts = read_header(data[:FIRST], lambda at, size, data=data: data[at : at + size])  # type: ignore[misc]
            assert (facts.width, facts.height, facts.fault) == (130, 70, "")
            assert facts.format.upper() == kind
            with Image.open(io.BytesIO(data)) as again:
                assert facts.alpha == ("A" in again.mode)
            if kind in ("PNG", "TIFF"):
                assert facts.bit_depth == {"1": 1, "I;16": 16}.get(mode, 8)
            assert whole_fault(data) == ""


def test_zip_with_frames_is_measured_inside(tmp_path: Path, crew: Workers) -> None:
    path = zipped(tmp_path / "a.zip", {f"shot_{n:04d}.png": png(picture(n)) for n in range(1, 4)})
    piece = deliverable(
        "zip", {"kind": "padding", "value": 4}, {"kind": "bit-depth", "value": 8}, {"kind": "alpha", "value": True}
    )
    assert verdicts(check(piece, [path], workers=crew)) == {"r0": "pass", "r1": "pass", "r2": "fail"}


def test_several_files_where_one_is_asked_for(tmp_path: Path) -> None:
    paths = [tmp_path / f"still-{c}.png" for c in "ab"]
    for path in paths:
        path.write_bytes(png(picture()))
    report = check(deliverable("image", {"kind": "tick", "value": "theme"}), paths)
    assert [f.verdict for f in report.findings if f.kind == "one-file"] == ["warn"]
    # a person answers once, not for each file
    assert len(report.of("r0")) == 1


@pytest.mark.parametrize(
    ("job", "why"),
    [(worker_jobs.crash, "the decoder crashed on it"), (worker_jobs.no_memory, "there is not enough memory for it")],
)
@pytest.mark.parametrize("what", ["movie", "zip", "sequence"])
def test_a_decoder_that_gives_up_is_no_pass_and_no_fail(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, crew: Workers, what: str, job: Any, why: str
) -> None:
    for name in ("movie_facts", "zip_facts", "picture_look"):
        monkeypatch.setattr(f"nightplan.brief.read.{name}", job)
    path = frames(tmp_path / "shot", range(1, 4))
    if what != "sequence":
        path = tmp_path / f"shot.{'mp4' if what == 'movie' else 'zip'}"
        path.write_bytes(b"anything")
    report = check(deliverable(what, {"kind": "frame-count", "value": 3}), [path], depth="deep", workers=crew)
    assert report.verdict == "cannot tell"
    assert why in {f.measured for f in report.findings}
