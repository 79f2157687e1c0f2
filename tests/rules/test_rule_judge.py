"""Holding measurements against rules: limits, order, places, what could not be measured, verdicts."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from preflight.model import Box, Finding, Measurement, PrintSize, Severity, Spot, Verdict
from preflight.rulebook import Rulebook, Unjudged, verdict
from preflight.rulebook.words import Reader, show, show_apart

SIZE = PrintSize((700, 500), Box(100, 50, 500, 400), 254.0, 50.0, 40.0, "ticket")  # 10 px are 1 mm


def fine(rulebook: Rulebook) -> dict[str, Measurement]:
    """Measurements that no rule minds: nothing of the kind anywhere."""
    taken = {rule.measure: Measurement(rule.measure, None, rule.unit) for rule in rulebook.rules}
    return taken | {"printed-share": Measurement("printed-share", 40.0, "%")}


def judged(rulebook: Rulebook, *measures: Measurement) -> tuple[tuple[Finding, ...], tuple[Unjudged, ...]]:
    return rulebook.judge(fine(rulebook) | {each.id: each for each in measures}, SIZE)


def one(rulebook: Rulebook, *measures: Measurement) -> Finding:
    findings, unjudged = judged(rulebook, *measures)
    assert len(findings) == 1
    assert not unjudged
    return findings[0]


def silent(rulebook: Rulebook, *measures: Measurement) -> bool:
    return judged(rulebook, *measures) == ((), ())


def test_nothing_found_is_ready(rulebook: Rulebook) -> None:
    findings, unjudged = judged(rulebook)
    assert (findings, unjudged) == ((), ())
    assert verdict(findings, unjudged) is Verdict.READY


def line(width: float, *spots: Spot, total: int = 0) -> Measurement:
    return Measurement("narrowest-line", width, "mm", spots=spots, spots_total=total, details={"length": "12 mm"})


@pytest.mark.parametrize(
    ("width", "severity", "limit"),
    [
        (0.0, "stop", 0.35),
        (0.349, "stop", 0.35),
        (0.35, "ask", 0.5),
        (0.35 - 1e-10, "ask", 0.5),
        (0.499, "ask", 0.5),
    ],
)
def test_below_means_under_the_limit(rulebook: Rulebook, width: float, severity: str, limit: float) -> None:
    found = one(rulebook, line(width))
    assert (found.rule, found.severity, found.limit, found.value) == ("thin-line", severity, limit, width)


@pytest.mark.parametrize("width", [0.5, 0.5 - 1e-10, 0.501, 3.0])
def test_at_the_limit_is_silent(rulebook: Rulebook, width: float) -> None:
    assert silent(rulebook, line(width))


@pytest.mark.parametrize(
    ("area", "severity"), [(1e-6, "ask"), (4.0, "ask"), (4.0 + 1e-10, "ask"), (4.001, "stop"), (900.0, "stop")]
)
def test_above_means_over_the_limit(rulebook: Rulebook, area: float, severity: str) -> None:
    found = one(rulebook, Measurement("translucent-area", area, "mm2", details={"opacity": "50 %"}))
    assert (found.rule, found.severity) == ("translucent-area", severity)


def test_a_limit_of_zero_is_not_passed_by_zero(rulebook: Rulebook) -> None:
    assert silent(rulebook, Measurement("translucent-area", 0.0, "mm2"))
    assert silent(rulebook, Measurement("speck-count", 0.0, "count"))
    assert one(rulebook, Measurement("speck-count", 1.0, "count")).severity is Severity.NOTE


@pytest.mark.parametrize(
    ("kind", "ppi", "severity"),
    [
        ("line-art", 149.0, "stop"),
        ("line-art", 150.0, "ask"),
        ("line-art", 299.4, "ask"),
        ("line-art", 299.9994, None),  # what a file says that was saved at 300 (PNG, ISO/IEC 15948)
        ("continuous-tone", 149.0, "stop"),
        ("continuous-tone", 199.0, "ask"),
        ("continuous-tone", 200.0, None),
        ("continuous-tone", 299.0, None),
    ],
)
def test_each_kind_has_its_limits(rulebook: Rulebook, kind: str, ppi: float, severity: str | None) -> None:
    findings, _ = judged(rulebook, Measurement("effective-ppi", ppi, "ppi", kind=kind))
    assert [found.severity for found in findings] == ([] if severity is None else [severity])


@pytest.mark.parametrize(
    ("percent", "severity", "limit"),
    [(304.0, None, None), (304.1, "ask", 300), (344.0, "ask", 300), (344.1, "stop", 340)],
)
def test_a_tolerance_makes_room(rulebook: Rulebook, percent: float, severity: str | None, limit: float | None) -> None:
    findings, _ = judged(rulebook, Measurement("total-ink", percent, "%", details={"area": "25 mm²"}))
    assert [(found.severity, found.limit) for found in findings] == ([] if severity is None else [(severity, limit)])


def test_present_is_any_value_above_zero(rulebook: Rulebook) -> None:
    assert silent(rulebook, Measurement("checkerboard-cell", 0.0, "px"))
    found = one(rulebook, Measurement("checkerboard-cell", 16.0, "px"))
    assert (found.severity, found.limit) == (Severity.STOP, None)
    assert "16 pixels" in found.seen


def test_the_worst_finding_comes_first_then_the_farthest(rulebook: Rulebook) -> None:
    findings, _ = judged(
        rulebook,
        Measurement("speck-count", 2.0, "count", details={"largest": "0.4 mm"}),
        Measurement("narrowest-gap", 0.2, "mm", details={"length": "9 mm"}),  # half its limit
        line(0.45),  # nine tenths of it
        Measurement("fade-width", 0.5, "mm"),  # 1.25 times
        Measurement("printed-share", 0.0, "%"),  # infinitely far
        Measurement("print-width", 650.0, "mm"),  # twice
    )
    assert [(found.rule, str(found.severity)) for found in findings] == [
        ("nothing-to-print", "stop"),
        ("wider-than-film", "stop"),
        ("soft-edge", "stop"),
        ("thin-gap", "ask"),
        ("thin-line", "ask"),
        ("stray-specks", "note"),
    ]


def test_places_are_print_millimetres_from_the_artworks_corner(rulebook: Rulebook) -> None:
    found = one(rulebook, line(0.2, Spot(150, 70, 30, 2, 0.2), Spot(90, 50, 5, 5, 0.4), total=2))
    first, second = found.places
    assert (first.x_mm, first.y_mm, first.width_mm, first.height_mm, first.value) == pytest.approx((5, 2, 3, 0.2, 0.2))
    assert (second.x_mm, second.y_mm) == pytest.approx((-1, 0))  # left of the box: still where it is
    assert found.places_total == 2
    assert "2 places" in found.seen


def test_at_most_a_hundred_places_are_carried(rulebook: Rulebook) -> None:
    spots = tuple(Spot(x, 60, 2, 2, 0.2) for x in range(130))
    found = one(rulebook, line(0.2, *spots, total=170))
    assert len(found.places) == 100
    assert found.places_total == 170


def test_one_place_is_not_places(rulebook: Rulebook) -> None:
    found = one(rulebook, line(0.2, Spot(150, 70, 30, 2, 0.2), total=1))
    assert "1 place," in found.seen


def test_without_a_size_there_are_no_places(rulebook: Rulebook) -> None:
    unknown = replace(SIZE, ppi=None, width_mm=None, height_mm=None, size_from="unknown")
    measure = Measurement("checkerboard-cell", 16.0, "px", spots=(Spot(100, 50, 10, 10),), spots_total=1)
    for size in (unknown, None):
        findings, _ = rulebook.judge(fine(rulebook) | {measure.id: measure}, size)
        assert findings[0].places == ()
        assert findings[0].places_total == 1


def test_a_place_that_keeps_the_limit_is_not_listed(rulebook: Rulebook) -> None:
    """The measure looks up to its own width; what the shop prints is none of the fault's places."""
    found = one(rulebook, line(0.2, Spot(150, 70, 30, 2, 0.2), Spot(150, 90, 30, 2, 0.6), total=9))
    assert [place.value for place in found.places] == [0.2]
    assert found.places_total == 1


def test_areas_count_together(rulebook: Rulebook) -> None:
    """Each spot of a sum lies under the limit by itself, and still belongs to the finding."""
    spots = tuple(Spot(x, 60, 2, 2, 0.4) for x in (110, 120, 130))
    measure = Measurement("area-without-white", 1.2, "mm2", spots=spots, spots_total=3, details={"choke": "0.18 mm"})
    assert len(one(rulebook, measure).places) == 3


def test_what_could_not_be_measured_is_no_pass(rulebook: Rulebook) -> None:
    findings, unjudged = judged(rulebook, Measurement("fade-width", None, "mm", why_not="the size is not known"))
    assert findings == ()
    assert unjudged == (Unjudged("soft-edge", "fade-width", "the size is not known"),)
    assert verdict(findings, unjudged) is Verdict.UNCHECKED


def test_a_question_that_does_not_arise_is_no_gap(rulebook: Rulebook) -> None:
    assert silent(rulebook, Measurement("contrast", None, "ratio", why_not="no garment was ordered", applies=False))
    assert silent(rulebook, Measurement("contrast", 1.0, "ratio", applies=False))


def test_a_measurement_that_is_missing_is_no_pass(rulebook: Rulebook) -> None:
    measures = fine(rulebook)
    del measures["narrowest-gap"]
    _, unjudged = rulebook.judge(measures, SIZE)
    assert [gap.rule for gap in unjudged] == ["thin-gap"]


def test_what_is_only_taken_on_opening_may_be_missing(rulebook: Rulebook) -> None:
    measures = fine(rulebook)
    for name in ("file-unreadable", "file-cut-short", "ticket-unreadable", "extension-mismatch"):
        del measures[name]
    assert rulebook.judge(measures, SIZE) == ((), ())


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_no_number_is_no_pass(rulebook: Rulebook, value: float) -> None:
    findings, unjudged = judged(rulebook, Measurement("fade-width", value, "mm"))
    assert findings == ()
    assert [gap.measure for gap in unjudged] == ["fade-width"]


def test_an_unknown_kind_is_no_pass(rulebook: Rulebook) -> None:
    for kind in ("sketch", None):
        _, unjudged = judged(rulebook, Measurement("effective-ppi", 90.0, "ppi", kind=kind))
        assert [gap.rule for gap in unjudged] == ["low-resolution"]


def test_a_rule_that_defers_leaves_no_gap(rulebook: Rulebook) -> None:
    coarse = Measurement("effective-ppi", 90.0, "ppi", kind="line-art")
    blind = Measurement("narrowest-line", None, "mm", why_not="the picture is too coarse")
    findings, unjudged = judged(rulebook, coarse, blind)
    assert [found.rule for found in findings] == ["low-resolution"]
    assert unjudged == ()
    assert verdict(findings, unjudged) is Verdict.STOP
    _, unjudged = judged(rulebook, blind)
    assert [gap.rule for gap in unjudged] == ["thin-line"]


def test_a_rule_that_defers_still_says_what_it_found(rulebook: Rulebook) -> None:
    findings, _ = judged(rulebook, Measurement("effective-ppi", 90.0, "ppi", kind="line-art"), line(0.2))
    assert {found.rule for found in findings} == {"low-resolution", "thin-line"}


@pytest.mark.parametrize(
    ("severities", "expected"),
    [
        ([], Verdict.READY),
        (["note"], Verdict.READY),
        (["note", "ask"], Verdict.ASK),
        (["ask", "stop", "note"], Verdict.STOP),
    ],
)
def test_the_verdict_is_the_worst_finding(rulebook: Rulebook, severities: list[str], expected: Verdict) -> None:
    pattern = one(rulebook, line(0.2))
    assert verdict([replace(pattern, severity=Severity(each)) for each in severities], ()) is expected


@pytest.mark.parametrize("name", ["file-unreadable", "file-cut-short", "ticket-unreadable"])
def test_what_was_not_read_is_unchecked(rulebook: Rulebook, name: str) -> None:
    details = {"reason": "the file is empty", "next_step": "Send it again."}
    found = one(rulebook, Measurement(name, 1.0, "count", details=details))
    assert "the file is empty" in found.seen
    assert found.fix == "Send it again."
    assert verdict([found], ()) is Verdict.UNCHECKED


def test_a_code_that_does_not_scan_is_told_apart_from_a_small_one(rulebook: Rulebook) -> None:
    details = {"text": "stall 12", "kind": "QR code", "garment": "#1d1d1f"}
    small = one(rulebook, Measurement("code-module", 0.34, "mm", details=details))
    dead = one(rulebook, Measurement("code-module", 0.0, "mm", details=details))
    assert "0.34 mm" in small.seen
    assert "could not be read" not in small.seen
    assert "could not be read" in dead.seen
    assert "0 mm" not in dead.seen
    assert dead.severity is Severity.STOP


def test_a_sentence_without_its_figure_is_left_out(rulebook: Rulebook) -> None:
    found = one(rulebook, Measurement("narrowest-line", 0.2, "mm"))
    assert found.seen == "The thinnest line in your artwork is 0.2 mm wide. It should be at least 0.5 mm."
    assert "{" not in found.operator


def test_text_from_the_file_cannot_steer_a_terminal(rulebook: Rulebook) -> None:
    details = {"text": "\x1b[2Jboo {value}", "kind": "QR code", "garment": "white"}
    found = one(rulebook, Measurement("code-module", 0.34, "mm", details=details))
    assert "\x1b" not in found.operator
    assert "boo {value}" in found.operator  # and its braces are no placeholders


def test_the_advice_on_pixels_fits_the_print(rulebook: Rulebook) -> None:
    size = PrintSize((600, 450), Box(0, 0, 600, 450), 76.2, 200.0, 150.0, "ticket")
    measure = Measurement("effective-ppi", 76.2, "ppi", kind="line-art")
    findings, _ = rulebook.judge(fine(rulebook) | {measure.id: measure}, size)
    assert "2362 × 1772 pixels" in findings[0].fix  # 200 mm at 300 ppi
    assert "50 × 38 mm" in findings[0].fix  # 600 px at 300 ppi are 50.8 mm: rounded down


@pytest.mark.parametrize(
    ("value", "unit", "customer", "operator"),
    [
        (287.4, "ppi", "287 pixels per inch", "287 ppi"),
        (1.0, "px", "1 pixel", "1 px"),
        (0.3456, "mm", "0.35 mm", "0.35 mm"),
        (0.001, "mm", "0.001 mm", "0.001 mm"),
        (1234.0, "mm2", "1234 mm²", "1234 mm²"),
        (12.0, "count", "12", "12"),
        (14.26, "dE00", "14.3 points", "14.3 ΔE00"),
        (1.2, "ratio", "1.2 : 1", "1.2 : 1"),
        (0.0, "mm2", "0 mm²", "0 mm²"),
    ],
)
def test_figures_are_shown_as_people_read_them(value: float, unit: str, customer: str, operator: str) -> None:
    assert show(value, unit, Reader.CUSTOMER) == customer
    assert show(value, unit) == operator


def test_a_value_and_its_limit_never_look_alike() -> None:
    assert show_apart(0.4996, 0.5, "mm") == ("0.4996 mm", "0.5 mm")
    assert show_apart(300.3, 300.0, "%")[0] == "300.3 %"
    assert show_apart(0.5, 0.5, "mm") == ("0.5 mm", "0.5 mm")


def test_how_far_a_measure_must_look(rulebook: Rulebook) -> None:
    assert rulebook.reach("narrowest-line") == 0.5
    assert rulebook.reach("translucent-area") == 0.0
    assert rulebook.reach("effective-ppi", "continuous-tone") == 200
    assert rulebook.reach("effective-ppi") == 300
    assert rulebook.reach("checkerboard-cell") is None
