"""A plan as people look at it: by day, home and source; why; what is left; what sources hear."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext
from openpyxl import load_workbook

from apps.planning.core.read_document import problem_of, result_of
from apps.planning.models import Assignment, LeftOver, Plan
from apps.planning.operations.make_plan import make_plan
from apps.planning.queries.explain import PlanExplainer, wish_lines
from apps.planning.queries.find_plan import NoPlan, find_plan
from apps.planning.queries.plan_files import plan_csv_zip, plan_json, plan_xlsx
from apps.planning.queries.plan_week import plan_week
from apps.planning.queries.preview_change import Asked, preview_change
from apps.planning.queries.source_notices import told_sources
from apps.planning.verifier.verify import verify
from tests.cast import Cast
from tests.planning.first_plans import first_draft


@pytest.fixture
def plan(cast: Cast) -> Plan:
    return first_draft()


def test_every_gram_is_seen_in_each_of_the_three_orders(cast: Cast, plan: Plan) -> None:
    week = plan_week(plan)
    offered_g = sum(row["amount_g"] for row in plan.document["batches"])
    assert week.placed_g + week.left_over_g == offered_g
    by_home = sum(
        pickup.amount_g
        for home in week.homes
        for pickups in home.pickups.values()
        for pickup in pickups
    )
    by_source = sum(
        pickup.amount_g
        for source in week.sources
        for pickups in source.pickups.values()
        for pickup in pickups
    )
    assert by_home == by_source == week.placed_g > 0
    assert all(len(home.feeds) == 7 for home in week.homes)


def test_more_rows_cost_no_more_queries(cast: Cast, plan: Plan) -> None:
    def queries() -> int:
        fresh = Plan.objects.of(cast.group).select_related("group").get(pk=plan.pk)
        with CaptureQueriesContext(connection) as captured:
            plan_week(fresh)
        return len(captured)

    few = queries()
    Assignment.unscoped.bulk_create(
        Assignment(
            group=cast.group,
            plan=plan,
            stream=cast.grass,
            source=cast.ines_garden,
            digester=cast.dome,
            batch_on=cast.today - timedelta(days=n + 10),
            on=plan.starts_on,
            amount_g=1,
            distance_m=1,
            from_min=0,
            till_min=1,
        )
        for n in range(1_000)
    )
    LeftOver.unscoped.bulk_create(
        LeftOver(
            group=cast.group,
            plan=plan,
            stream=cast.grass,
            batch_on=cast.today,
            amount_g=1,
            reason={},
        )
        for _ in range(1_000)
    )
    assert queries() == few


def test_a_document_gives_back_its_problem_and_its_plan(cast: Cast, plan: Plan) -> None:
    again = json.loads(plan_json(plan))
    assert problem_of(again) == problem_of(plan.document)
    assert result_of(again) == result_of(plan.document)
    assert verify(again) == []


def test_each_assignment_says_why_here_and_not_elsewhere(cast: Cast, plan: Plan) -> None:
    explainer = PlanExplainer(plan)
    for assignment in plan.assignments.select_related("stream", "digester"):
        why = explainer.why_assignment(assignment)
        assert "apart" in str(why.sentences[0])
        assert {home for home, _ in why.others} == {
            "duarte-drum", "elsa-dome", "heitor-bag",
        } - {assignment.digester.code}  # fmt: skip


def test_each_left_over_says_why_and_the_smallest_change(cast: Cast, plan: Plan) -> None:
    explainer = PlanExplainer(plan)
    rows = plan.left_overs.select_related("stream", "destination")
    assert rows
    for row in rows:
        why = explainer.why_left_over(row.stream.code, row.batch_on)
        assert str(why.sentences[0]) == row.reason["sentence"]
        assert row.reason["code"]


def test_what_is_left_over_goes_to_the_compost_up_to_its_capacity(cast: Cast) -> None:
    cast.compost.capacity_g_per_day = 2_500
    cast.compost.save()
    plan = make_plan(cast.group, now=cast.now)
    sent: dict[object, int] = {}
    for row in plan.left_overs.filter(destination=cast.compost).select_related("stream"):
        on = max(row.batch_on + timedelta(days=row.stream.kept_days), plan.starts_on)
        sent[on] = sent.get(on, 0) + row.amount_g
    assert sent
    assert max(sent.values()) <= 2_500
    assert plan.left_overs.filter(destination=None).exists(), "the rest stays with the source"


def test_every_source_is_told_whether_somebody_comes(cast: Cast, plan: Plan) -> None:
    told = told_sources(plan)
    visits = {(row.source.code, row.on) for row in plan.assignments.select_related("source")}
    assert {(each.notice.source, each.on) for each in told if not each.notice.nobody_comes} == (
        visits
    )
    alone = [each for each in told if each.notice.nobody_comes]
    assert alone
    for each in alone:
        assert str(each.sentences[0]) == f"Nobody comes on {each.on}."
    assert any("Compost yard" in str(line) for each in told for line in each.sentences)


def test_wishes_are_said_with_their_bounds(plan: Plan) -> None:
    lines = wish_lines(plan)
    assert [line.name for line in lines][:2] == ["below_minimum_vs_g", "sources_overdue"]
    for line in lines:
        assert line.distance >= 0
        assert "%(" not in str(line.sentence)


def test_a_preview_tells_what_a_ban_does_and_writes_nothing(cast: Cast, plan: Plan) -> None:
    before = plan.assignments.count()
    bans = (("quay-stall", "elsa-dome", None), ("school-canteen", "elsa-dome", None))
    preview = preview_change(plan, Asked(bans=bans))
    assert preview.contradictions == ()
    assert preview.left_over_g > 0
    said = " ".join(str(each) for each in preview.effects)
    (elsa,) = (each for each in preview.consequences.homes if each.digester == "elsa-dome")
    assert elsa.fed_vs_g_after < elsa.fed_vs_g
    assert "Elsa's digester would" in said
    assert "more would be left over" in said
    assert "kilogram-kilometres less than now" in said
    around = preview_change(plan, Asked(bans=bans), better=True)
    assert around.effects == preview.effects
    assert "anew" in str(around.better[0])
    assert plan.assignments.count() == before


def test_a_preview_names_the_limit_that_a_pin_would_pass(cast: Cast, plan: Plan) -> None:
    pin = ("quay-vegetables", plan.starts_on, "heitor-bag", plan.starts_on, 3_000)
    preview = preview_change(plan, Asked(pins=(pin,)))
    assert "over its 0 kg" in " ".join(str(each) for each in preview.contradictions)


def test_files_hold_the_same_tables(plan: Plan) -> None:
    archive = zipfile.ZipFile(io.BytesIO(plan_csv_zip(plan)))
    rows = list(csv.reader(io.StringIO(archive.read("assignments.csv").decode())))
    book = load_workbook(io.BytesIO(plan_xlsx(plan)))
    sheet = [[cell.value for cell in row] for row in book["assignments"].iter_rows()]
    assert len(rows) == len(sheet) == plan.assignments.count() + 1
    assert rows[0] == sheet[0]
    assert plan_csv_zip(plan) == plan_csv_zip(plan)


def test_a_cell_that_looks_like_a_formula_is_text(cast: Cast) -> None:
    cast.quay_stall.name = "=HYPERLINK(A1)"
    cast.quay_stall.save()
    plan = make_plan(cast.group, now=cast.now)
    book = load_workbook(io.BytesIO(plan_xlsx(plan)))
    names = [row[1].value for row in book["sources"].iter_rows(min_row=2)]
    assert "'=HYPERLINK(A1)" in names


def test_the_commands_show_verify_export_and_reproduce(
    cast: Cast, plan: Plan, tmp_path: object, capsys: pytest.CaptureFixture[str]
) -> None:
    call_command("show_plan", group="harbour")
    shown = capsys.readouterr().out
    for words in (
        "Who brings what to whom, when",
        "Elsa's digester (elsa-dome)",
        "rule that binds",
        "Compost yard of the allotments",
        "Whose turn it is",
        "How far from the best possible",
    ):
        assert words in shown
    call_command("verify_plan", group="harbour", plan=plan.version)
    assert "0 violations" in capsys.readouterr().out
    call_command("export_plan", group="harbour", to=str(tmp_path))
    call_command("reproduce_plan", group="harbour")
    assert "comes out the same" in capsys.readouterr().out
    with pytest.raises(CommandError, match="no group called 'nowhere'"):
        call_command("show_plan", group="nowhere")
    with pytest.raises(CommandError, match="has no plan 99"):
        call_command("show_plan", group="harbour", plan=99)


def test_the_newest_draft_is_meant_unless_told(cast: Cast, plan: Plan) -> None:
    second = make_plan(cast.group, now=cast.now)
    assert find_plan(cast.group) == second
    assert find_plan(cast.group, plan.version) == plan
    with pytest.raises(NoPlan, match="has no plan yet"):
        find_plan(cast.other_group)
