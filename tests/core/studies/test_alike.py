"""One remedy for all findings of a kind leaves none of them, and touches nothing where there is but one."""

from core.analysis.engine import analyse
from core.edits.body import draw_rib
from core.files.references import problems
from core.studies.remedies import alike, remedies
from tests.helpers.wired import LEFT, library, wired


def test_ribs_are_protected_all_at_once() -> None:
    plan = wired()
    for x in (900.0, 1_300.0, 1_700.0):
        plan, _ = draw_rib(plan, LEFT, ((x, 0.0), (x, 1_800.0)), 60.0)
    analysis = analyse(plan, library())
    ribs = [f for f in analysis.findings if f.code == "rub.rib"]
    assert len(ribs) > 1
    first = remedies(ribs[0], analysis, library())[0]
    every = alike(ribs[0], first, analysis, library())
    assert every is not None
    assert str(len(ribs)) in every.label
    after = every.apply(plan)
    assert problems(after) == ()
    assert not [f for f in analyse(after, library()).findings if f.code == "rub.rib"]
    # One alone has no others to be like.
    alone = next(f for f in analysis.findings if sum(g.code == f.code for g in analysis.findings) == 1)
    assert alike(alone, first, analysis, library()) is None
