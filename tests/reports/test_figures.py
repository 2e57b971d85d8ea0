"""The data that the figures draw, for invented answers small enough to check by eye; then each is drawn once."""

from dataclasses import replace
from types import SimpleNamespace

import matplotlib.pyplot as plt
import numpy as np
import pandas as pd
import pytest

from audit.analyses.bandages import BandageAnswer
from audit.analyses.case_mix import CaseMixAnswer
from audit.analyses.complications import ComplicationAnswer
from audit.analyses.donor import DonorAnswer
from audit.analyses.flow import FlowAnswer, Stage
from audit.analyses.groups import GroupShare, by_group
from audit.analyses.healing import HealingAnswer, HealingCurve
from audit.analyses.scores import ItemScores, ScoreAnswer
from audit.analyses.take import TakeAnswer
from audit.analyses.yardsticks import Yardstick, YardstickAnswer
from audit.results import Estimate, ThreeWay, members
from audit.stats.competing import CompetingNpmle
from audit.stats.pooling import pooled_shares
from audit.stats.profile import Band
from audit.stats.proportions import clopper_pearson
from audit.stats.recurrent import MeanCumulative
from reports.catalogue import Catalogue
from reports.document import Figure
from reports.figures.bandages import staircase
from reports.figures.ends import stacked
from reports.figures.forest import Mark, Row, forest
from reports.figures.healing import steps, still_watched

HORIZON = 60


NAMES = {
    "flow": ("flow", "completeness"),
    "case_mix": ("support",),
    "take": ("take-every-graft", "take-by-location", "take-by-method"),
    "healing": ("healing-curve", "healing-by-method", "healing-ends", "healing-cases"),
    "scores": ("scores-hair", "scores-look", "scores-use", "scores-pairs"),
    "complications": ("complication-shares", "complication-kinds"),
    "donor": ("donor-sutures",),
    "bandages": ("bandage-mean", "bandage-rates"),
    "yardsticks": ("yardstick-shares", "yardstick-days", "yardstick-changes"),
}


def figures_of(**answer: object) -> tuple[Figure, ...]:
    """All figures of the catalogue that speak of one answer of a cohort."""
    (question,) = answer
    return Catalogue(SimpleNamespace(is_cohort=True, **answer)).figures(*NAMES[question])


def data(figure: Figure, geom: str, number: int = 0) -> pd.DataFrame:
    """The frame of the figure's layer of that name, counted from 0."""
    found = [layer for layer in figure.plot.layers if type(layer.geom).__name__ == geom]
    own = found[number]._data
    return own if isinstance(own, pd.DataFrame) else figure.plot.data


def draw(figures: tuple[Figure, ...]) -> None:
    """Draw each; a warning of the plotting library, such as a row dropped, is an error."""
    for figure in figures:
        assert figure.title
        assert figure.description.endswith(".")
        assert "n = " in figure.caption
        plt.close(figure.plot.draw())


def shares(rows: list[tuple[str, str, str, str]], group: str | None = None) -> tuple[GroupShare, ...]:
    """Shares of cases given as (case code, species, group, status), one animal a case."""
    frame = pd.DataFrame(rows, columns=["case_code", "species", "part", "status"])
    codes = [[code] for code in frame["case_code"]]
    tallied = frame.assign(animal=None, weight=1, case_codes=codes, reason="not looked at")
    return by_group(tallied, "asked", "part" if group else None, level=0.95)


def curve(species: str, codes: tuple[str, ...], npmle: CompetingNpmle, causes: tuple[str, ...]) -> HealingCurve:
    days = np.arange(1.0, HORIZON + 1)
    ends = np.array([npmle.incidence(1, day) for day in days])
    low, high = (ends[:, 0] - 0.2).clip(0), (ends[:, 1] + 0.2).clip(max=1)
    band = Band(days=days, value=ends[:, 0], value_to=ends[:, 1], low=low, high=high, level=0.95, method="planted")
    by_day = Estimate(
        quantity="healed",
        value=0.5,
        value_to=0.75,
        low=0.2,
        high=0.9,
        level=0.95,
        method="planted",
        unit="animals",
        numerator=1,
        denominator=len(codes),
        animals=len(codes),
        unknown=1,
    )
    median = Estimate(
        quantity="median",
        value=14.0,
        value_to=21.0,
        low=10.0,
        high=None,
        level=0.95,
        method="planted",
        unit="animals",
        denominator=len(codes),
    )
    known = GroupShare(
        species, "free_graft", ThreeWay("healed", members(*codes[:1]), members(*codes[1:]), members()), None, ()
    )
    return HealingCurve(
        species=species,
        group="free_graft",
        codes=members(*codes),
        animals=len(codes),
        shares=((21, known, by_day),),
        median=median,
        mean_days=None,
        incidence=npmle,
        causes=causes,
        band=band,
    )


def cells(*rows: tuple[int, float, float, float]) -> CompetingNpmle:
    """Masses given as (cause, left, right, mass); a cell is exact where its ends are equal."""
    cause, left, right, mass = (np.array(column) for column in zip(*rows, strict=True))
    return CompetingNpmle(
        cause=cause, left=left, right=right, exact=left == right, mass=mass, loglik=-1.0, kkt_gap=0.0, n=4, iterations=1
    )


# Half healed in (14, 21], a quarter operated again on day 30, a quarter last seen open on day 40.
PLANTED = cells((1, 14, 21, 0.5), (2, 30, 30, 0.25), (0, 40, np.inf, 0.25))
LINES = pd.DataFrame(
    [
        ("a-A1", "dog", "mesh_graft", 14, 21, "healed", 60, "followed"),
        ("b-A1", "dog", "mesh_graft", 10, 21, "healed", 60, "followed"),
        ("c-A1", "dog", "flap", 22, None, "re_operated", 30, "re_operated"),
        ("d-A1", "dog", "flap", 40, None, "censored", 40, "lost"),
    ],
    columns=["case_code", "species", "method_group", "left_day", "right_day", "cause", "exit_day", "exit_group"],
)
SEEN = pd.DataFrame(
    [
        ("a-A1", 14, "open"), ("a-A1", 21, "healed"), ("a-A1", 80, "healed"), ("b-A1", 10, "open"),
        ("b-A1", 21, "healed"), ("c-A1", 22, "open"), ("d-A1", 4, "not_assessable"), ("d-A1", 9, "not_seen"),
        ("d-A1", 40, "open"),
    ],
    columns=["case_code", "day", "what"],
)  # fmt: skip


def healing_answer() -> HealingAnswer:
    dogs = curve("dog", tuple(LINES["case_code"]), PLANTED, ("healed", "re_operated"))
    return HealingAnswer(
        question="graft",
        overall=(dogs,),
        by_method=(),
        too_few=(),
        unconfirmed=(),
        reopened=(),
        lines=LINES,
        seen=SEEN,
        horizon=HORIZON,
    )


def test_curve_is_flat_where_known_and_a_box_where_not():
    lines, boxes = steps(healing_answer().overall[0], HORIZON)
    assert boxes.to_numpy().tolist() == [[14, 21, 0, 0.5]]
    assert lines.to_numpy().tolist() == [[0, 0, 14, 0], [21, 0.5, 40, 0.5]]  # to the last day of watching, no further


def test_exact_days_give_steps_and_no_box_also_beside_a_species_with_boxes():
    exact = curve("cat", ("e-A1", "f-A1"), cells((1, 7, 7, 0.5), (1, 9, 9, 0.5)), ("healed",))
    dogs = healing_answer()
    draw(figures_of(healing=replace(dogs, overall=(*dogs.overall, exact)))[:2])
    lines, boxes = steps(exact, HORIZON)
    assert boxes.empty
    assert lines[["y", "yend"]].iloc[-1].tolist() == [1, 1]
    assert lines["xend"].iloc[-1] == HORIZON


@pytest.mark.parametrize(("day", "watched"), [(0, 4), (20, 4), (21, 2), (30, 1), (40, 0)])
def test_still_watched_counts_neither_healed_nor_gone(day, watched):
    assert still_watched(LINES, day) == watched


def test_stacked_parts_add_up_to_the_whole_on_every_day():
    area = stacked(healing_answer().overall[0], 40.0)
    by_day = area.assign(share=area["ymax"] - area["ymin"]).groupby("day")["share"].sum()
    edges = area["day"].value_counts()  # a day between two stretches has both
    assert (by_day.to_numpy() / (edges[by_day.index] / 4)).to_numpy() == pytest.approx(1)
    end = area.tail(4).set_index("part")
    assert end.loc["healed", "ymax"] == 0.5
    assert end.loc["operated again"].tolist() == [40, 0.75, 1]
    assert end.loc["open, still watched", ["ymin", "ymax"]].tolist() == [0.5, 0.75]
    inside = area[(area["day"] == 14) & (area["part"] == "cannot be told")].iloc[-1]
    assert (inside["ymin"], inside["ymax"]) == (0, 0.5)


def test_healing_figures():
    figures = figures_of(healing=healing_answer())
    assert [figure.id for figure in figures] == ["healing-curve", "healing-ends", "healing-cases"]
    cases = figures[-1]
    assert data(cases, "geom_point")["day"].max() == 40  # the contact on day 80 lies beyond the horizon
    assert "after day 60 are not drawn (1 case)" in cases.caption
    bars = data(cases, "geom_segment", 1)
    assert bars[["case_code", "left_day", "to"]].to_numpy().tolist() == [["b-A1", 10, 21], ["a-A1", 14, 21]]
    assert data(cases, "geom_text")["text"].tolist() == ["operated again"]
    draw(figures)


def test_case_never_seen_after_surgery_has_no_curve_but_a_line():
    never = cells((0, 0, np.inf, 1.0))
    lines = LINES.iloc[[3]].assign(left_day=0, exit_day=0)
    answer = replace(
        healing_answer(), overall=(curve("dog", ("d-A1",), never, ("healed",)),), lines=lines, seen=SEEN.iloc[:0]
    )
    figures = figures_of(healing=answer)
    assert [figure.id for figure in figures] == ["healing-cases"]
    draw(figures)


def test_more_cases_than_a_page_holds_have_no_line_each():
    many = pd.concat([LINES] * 40)
    figures = figures_of(healing=replace(healing_answer(), lines=many))
    assert [figure.id for figure in figures] == ["healing-curve", "healing-ends"]


def test_forest_draws_bounds_intervals_and_ends_that_have_none():
    rows = [
        Row(
            "Dogs", "point", "1 of 2", (Mark("ours", 0.5, 0.5, 0.2, 0.8), Mark("theirs", None, None, 0.1, 0.4)),
            (0.3, 0.6),
        ),
        Row("Cats", "between", "n = 3", (Mark("ours", 0.2, 0.6, 0.1, None), Mark("theirs", 0.9, 0.9, None, None))),
        Row("Cats", "nothing known", "none known", ()),
    ]  # fmt: skip
    plot = forest(rows, ["ours", "theirs"], axis="x", breaks=(0, 1), tick_labels=("0", "1"))
    figure = Figure(id="forest", title="t", description="d.", caption="n = 3", plot=plot)
    assert data(figure, "geom_segment", 0)[["low", "high"]].to_numpy().tolist() == [[0.3, 0.6]]
    assert data(figure, "geom_segment", 1)[["kind", "low", "high"]].to_numpy().tolist() == [
        ["ours", 0.2, 0.8], ["theirs", 0.1, 0.4],
    ]  # fmt: skip
    assert data(figure, "geom_segment", 2)[["low", "high"]].to_numpy().tolist() == [[0.1, 1]]  # an arrow
    assert data(figure, "geom_segment", 3)[["low", "high"]].to_numpy().tolist() == [[0.2, 0.6]]  # no point in between
    assert data(figure, "geom_point")["value"].tolist() == [0.5, 0.9]
    assert data(figure, "geom_text")["note"].tolist() == ["1 of 2", "n = 3", "none known"]
    draw((figure,))


def take_answer() -> TakeAnswer:
    rows = [
        ("a", "dog", "distal_limb", "sure_yes"), ("b", "dog", "distal_limb", "cannot_tell"),
        ("c", "dog", "trunk", "sure_no"), ("d", "cat", "trunk", "cannot_tell"),
    ]  # fmt: skip
    by_location, overall = shares(rows, "location"), shares(rows)
    values = pd.DataFrame(
        [
            ("a", "dog", "mesh_full", "mesh_graft", "distal_limb", 10, 90.0, None, "sure_yes"),
            ("b", "dog", "mesh_full", "mesh_graft", "distal_limb", 9, 60.0, 30.0, "cannot_tell"),
            ("c", "dog", "mesh_full", "mesh_graft", "trunk", 14, 0.0, 0.0, "sure_no"),
        ],
        columns=[
            "case_code", "species", "method", "method_group", "location", "read_on_day", "viable_pct", "uncertain_pct",
            "status",
        ],
    )  # fmt: skip
    pooled = (("dog", "location", pooled_shares(["distal_limb", "trunk"], [1, 0], [1, 1])),)
    return TakeAnswer(
        question="take",
        threshold_pct=75.0,
        overall=overall,
        by_location=by_location,
        by_method=(),
        by_method_group=(),
        every_graft=overall,
        other_thresholds=(),
        percent=(),
        pooled=pooled,
        values=values,
    )


def test_take_figures():
    every, by_location = figures = figures_of(take=take_answer())
    doubtful = data(every, "geom_segment")
    assert doubtful[["viable_pct", "upper"]].to_numpy().tolist() == [[60, 90]]
    assert len(data(every, "geom_point")) == 3
    assert "1 more asked about without a reading" in every.caption
    points = data(by_location, "geom_point")
    assert points.loc[points["kind"] == "as counted", "value"].tolist() == [1, 0]
    assert (points["kind"] == "partially pooled").sum() == 2
    notes = data(by_location, "geom_text")
    assert set(zip(notes["panel"], notes["note"], strict=True)) == {
        ("Dogs", "1 of 1; 1 unknown"), ("Dogs", "0 of 1"), ("Cats", "none known; 1 unknown"),
    }  # fmt: skip
    draw(figures)


def completeness(rows: list[tuple[str, bool, int, int, int]]) -> pd.DataFrame:
    """Rows (table, core, due, present, not assessable) with the types of the store."""
    frame = pd.DataFrame(rows, columns=["table_name", "is_core", "due", "present", "not_assessable"])
    frame = frame.assign(field="f", refused=0, not_recorded=0, not_applicable=0, blank=0)
    return frame.astype(
        dict.fromkeys(("due", "present", "not_assessable", "refused"), "Int64") | {"is_core": "boolean"}
    )


def test_flow_figures():
    answer = FlowAnswer(
        stages=(
            Stage("operations", ("a", "b", "c"), ()),
            Stage("x", ("a", "b"), (("planned, then not done", ("c",)),)),
        ),
        animals=2,
        species=(("cat", 1, 1), ("dog", 1, 1)),
        first_month="2024-01",
        last_month="2024-02",
        core_complete=(3, 4),
        all_complete=(4, 8),
        completeness=completeness([("animals", True, 4, 3, 1), ("animals", False, 4, 1, 0)]),
        exits=(("healed_and_followed", ("a",)), ("lost_before_healing", ("b",))),
        follow_up=None,
        never_seen=("b",),
    )
    flow, complete = figures = figures_of(flow=answer)
    assert data(flow, "geom_text")["text"].tolist() == [
        "3 operations in the store",
        "left out, 1: planned, then not done",
        "2 operations asked about\nin 2 animals: 1 in dogs and 1 in cats",
        "kept, 1: never seen after surgery",
        "How the records end\nhealed and followed: 1\nlost before healing: 1",
    ]
    boxes = data(flow, "geom_rect")
    assert (boxes["ymin"].to_numpy()[:-1] > boxes["ymax"].to_numpy()[1:]).all()  # no box covers the next
    bars = data(complete, "geom_col")
    parts = bars.set_index(["part", "kind"])["share"]
    assert parts["Core fields"].to_dict() == {"value given": 0.75, "looked at or asked, no value": 0.25, "missing": 0}
    assert parts["Other fields", "missing"] == 0.75
    draw(figures)


def test_case_mix_figures():
    support = pd.DataFrame({"species": ["cat"], "method": ["punch"], "location": ["trunk"], "cases": [2]})
    figures = figures_of(case_mix=CaseMixAnswer((("cat", 2, 2),), (), (), support, ()))
    cells_drawn = data(figures[0], "geom_tile")
    assert len(cells_drawn) == 5  # the empty locations are shown as empty
    assert cells_drawn.loc[cells_drawn["cases"] > 0, ["row", "column", "text"]].to_numpy().tolist() == [
        ["punch graft", "trunk", "2"]
    ]
    draw(figures)


def test_complication_figures():
    kinds = pd.DataFrame(
        [("dog", "fluid", "seroma", "major", 1, ("a",)), ("dog", "fluid", "seroma", None, 1, ("b",))],
        columns=["species", "complication_group", "complication", "grade", "cases", "case_codes"],
    )
    groups = shares([("a", "dog", "x", "sure_yes"), ("b", "dog", "x", "sure_no"), ("c", "cat", "x", "cannot_tell")])
    figures = figures_of(
        complications=ComplicationAnswer(
            by_day=30,
            overall=(("any", groups),),
            by_method=(),
            major_by_method=(),
            kinds=kinds,
            worst=pd.DataFrame(),
            not_counted=0,
            overridden=(),
        )
    )
    assert data(figures[0], "geom_text")["note"].tolist() == ["1 of 2", "none known; 1 unknown"]
    assert data(figures[1], "geom_col")["grade"].tolist() == ["major", "grade not known"]
    draw(figures)


def test_donor_figures():
    sites = pd.DataFrame(
        [
            ("a", "dog", 1, 8, "sure_yes"), ("b", "dog", 1, 8, "sure_yes"), ("c", "dog", 1, 14, "sure_no"),
            ("d", "dog", 1, None, "excluded"), ("e", "dog", 1, None, "cannot_tell"),
        ],
        columns=["case_code", "species", "donor", "suture_out_day", "status"],
    )  # fmt: skip
    groups = shares(
        [(c, s, "x", status) for c, s, _, _, status in sites.itertuples(index=False) if status != "excluded"]
    )
    figures = figures_of(donor=DonorAnswer(7, 10, groups, (), (), sites))
    assert data(figures[0], "geom_point")[["day", "y"]].to_numpy().tolist() == [[8, 0.5], [8, 1.5], [14, 0.5]]
    assert "1 unknown; 1 with none to remove" in figures[0].caption
    draw(figures)


def test_bandage_figures():
    curve = MeanCumulative(
        day=np.array([2.0, 5.0]),
        at_risk=np.array([3, 2]),
        events=np.array([3, 1]),
        mean=np.array([1.0, 1.5]),
        standard_error=np.array([0.1, 0.2]),
        low=np.array([0.8, 1.0]),
        high=np.array([1.2, 2.0]),
        level=0.95,
        method="planted",
        animals=3,
    )
    assert staircase(curve)[["day", "mean"]].to_numpy().tolist() == [[0, 0], [2, 0], [2, 1], [5, 1], [5, 1.5]]
    rate = Estimate(
        quantity="rate",
        value=0.5,
        value_to=0.5,
        low=0.25,
        high=1.0,
        level=0.95,
        method="planted",
        unit="animal-days",
        numerator=8,
        denominator=16,
        animals=3,
    )
    none = replace(rate, value=None, value_to=None, low=None, high=None, numerator=0, denominator=0)
    cases = pd.DataFrame({"case_code": ["a", "b", "c"]})
    figures = figures_of(
        bandages=BandageAnswer((("dog", curve),), (("dog", (rate, none)),), ((0, 7, 2), (8, 14, 4)), cases, ())
    )
    points = data(figures[1], "geom_point")
    assert points[["kind", "value"]].to_numpy().tolist() == [
        ["changes a week, as recorded", 3.5], ["the plan: at least so many", 3.5],
    ]  # fmt: skip
    draw(figures)


def test_score_figures():
    counts = pd.DataFrame(
        [("flap", 4.0, 1), ("flap", 3.0, 3), ("mesh_graft", 0.0, 1)], columns=["method_group", "value", "cases"]
    )
    pair = Estimate(
        quantity="probability of superiority",
        value=1.0,
        value_to=1.0,
        low=0.4,
        high=1.0,
        level=0.95,
        method="planted",
        unit="animals",
    )
    medians = (("flap", 3.0, 4), ("mesh_graft", 0.0, 1))
    hair = ItemScores(
        item="hair",
        species="dog",
        grades=5,
        scored=5,
        asked=6,
        reasons=(),
        counts=counts,
        medians=medians,
        pairs=(("flap", "mesh_graft", pair),),
        all_alike=None,
    )
    look = replace(hair, item="look_edge", grades=4, counts=counts.assign(value=[0.0, 1.0, 3.0]))
    answer = ScoreAnswer(items=(hair, look), blinded=(5, 5), from_day=90, good_grade=3, good_hair=())
    figures = figures_of(scores=answer)
    assert [figure.id for figure in figures] == ["scores-hair", "scores-look", "scores-pairs"]
    bars = data(figures[0], "geom_col")
    assert bars[["group", "grade", "share"]].to_numpy().tolist() == [
        ["flaps", "4, as around", 0.25], ["flaps", "3, half or more", 0.75], ["mesh grafts", "0, none", 1],
    ]  # fmt: skip
    assert data(figures[2], "geom_text")["note"].tolist() == ["n = 4 and 1"]  # the look items' pairs are not drawn
    draw(figures)


def test_yardstick_figures():
    own = clopper_pearson(3, 4)
    share = Yardstick(
        kind="rule_of_thumb",
        name="Healed by then",
        species="dog",
        quantity="healed_by",
        theirs=(0.5, 1.0),
        theirs_point=None,
        theirs_n=None,
        their_definition="a rule",
        our_definition="ours",
        differs="no source",
        read="no source",
        own=own,
        cases=("a", "b", "c", "d"),
        unknown=(),
        verdict=None,
    )
    median = Estimate(
        quantity="median",
        value=28.0,
        value_to=35.0,
        low=21.0,
        high=None,
        level=0.95,
        method="planted",
        unit="animals",
        denominator=4,
    )
    days = replace(
        share, kind="published", name="Invented A. A journal 2020;1:1-2", quantity="median_days", own=median,
        theirs=(None, 56.0), theirs_point=30.0, theirs_n=12,
    )  # fmt: skip
    shares_figure, days_figure = figures = figures_of(
        yardsticks=YardstickAnswer((), (share, replace(share, species="cat", own=None)), (days,))
    )
    assert data(shares_figure, "geom_text")["note"].tolist() == ["3 of 4\nside by side, not judged"]
    spans = data(shares_figure, "geom_segment")
    assert spans[["low", "high"]].to_numpy().tolist() == [[own.low, own.high], [0.5, 1.0]]
    assert data(days_figure, "geom_point")["value"].tolist() == [30]
    assert data(days_figure, "geom_segment", 2)[["low", "high"]].to_numpy().tolist() == [[28, 35]]
    assert "Invented 2020, n = 12" in days_figure.description
    draw(figures)


def test_no_figure_of_nothing():
    no_frame = pd.DataFrame()
    assert not figures_of(
        flow=FlowAnswer(
            stages=(),
            animals=0,
            species=(),
            first_month="",
            last_month="",
            core_complete=(0, 0),
            all_complete=(0, 0),
            completeness=completeness([]),
            exits=(),
            follow_up=None,
            never_seen=(),
        )
    )
    assert not figures_of(case_mix=CaseMixAnswer((), (), (), no_frame, ()))
    assert not figures_of(
        take=TakeAnswer(
            question="take",
            threshold_pct=75.0,
            overall=(),
            by_location=(),
            by_method=(),
            by_method_group=(),
            every_graft=(),
            other_thresholds=(),
            percent=(),
            pooled=(),
            values=no_frame,
        )
    )
    assert not figures_of(
        healing=HealingAnswer(
            question="graft",
            overall=(),
            by_method=(),
            too_few=(),
            unconfirmed=(),
            reopened=(),
            lines=no_frame,
            seen=no_frame,
            horizon=HORIZON,
        )
    )
    assert not figures_of(
        complications=ComplicationAnswer(
            by_day=30,
            overall=(("any", ()),),
            by_method=(),
            major_by_method=(),
            kinds=no_frame,
            worst=no_frame,
            not_counted=0,
            overridden=(),
        )
    )
    sites = pd.DataFrame(columns=["case_code", "species", "donor", "suture_out_day", "status"])
    assert not figures_of(donor=DonorAnswer(7, 10, (), (), (), sites))
    assert not figures_of(bandages=BandageAnswer((), (), (), no_frame, ()))
    assert not figures_of(scores=ScoreAnswer(items=(), blinded=(0, 0), from_day=90, good_grade=3, good_hair=()))
    assert not figures_of(yardsticks=YardstickAnswer((), (), ()))
