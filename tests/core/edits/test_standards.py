"""Profiles can be chosen and mixed rule by rule; where a number comes from stays with it."""

import pytest

from core.analysis.rules import REQUIRED
from core.edits.records import set_limit
from core.edits.standards import OWN_SOURCE, choose_profile, limit_from, own_limit
from core.files.library import load_library
from core.model import Limit, limit
from core.tables.rules import GROUPS, OTHERS, grouped
from tests.core.edits.checks import refused, sound
from tests.helpers.vans import shell

LIBRARY = load_library()
VAN = shell()


def _limit(plan, rule: str) -> Limit:
    return limit(LIBRARY.profile_of(plan.profile), rule)


def test_another_profile_brings_its_limits_and_keeps_the_owners_own() -> None:
    own = own_limit(choose_profile(VAN, LIBRARY, "workshop"), LIBRARY, "drop.other", 4.0)
    assert _limit(own, "drop.other").value == 4.0
    assert _limit(own, "drop.other").source == OWN_SOURCE
    boat = sound(own, choose_profile(own, LIBRARY, "boat-us"))
    assert boat.profile.id == "boat-us"
    assert boat.profile.version == LIBRARY.profile("boat-us").version
    assert _limit(boat, "drop.other").value == 4.0
    # 33 CFR 183.455(b): a fuse within 7 in of the source.
    assert _limit(boat, "fuse.distance_mm").value == pytest.approx(7 * 25.4)
    assert choose_profile(boat, LIBRARY, "boat-us") is boat


def test_a_change_of_a_rule_the_new_profile_does_not_have_goes() -> None:
    odd = Limit(rule="odd.rule", value=1.0, unit="mm", source="invented for this test", known="memory")
    assert choose_profile(set_limit(VAN, odd), LIBRARY, "boat-us").profile.changes == ()


def test_the_number_of_the_profile_takes_a_change_back() -> None:
    was = _limit(VAN, "drop.other").value
    assert was is not None
    assert own_limit(own_limit(VAN, LIBRARY, "drop.other", was + 1), LIBRARY, "drop.other", was) == VAN


def test_a_limit_of_another_profile_comes_with_its_source() -> None:
    van = choose_profile(VAN, LIBRARY, "workshop")
    mixed = sound(van, limit_from(van, LIBRARY, "securing.span_mm", "boat-us"))
    row, origin = _limit(mixed, "securing.span_mm"), limit(LIBRARY.profile("boat-us"), "securing.span_mm")
    assert (row.value, row.known) == (origin.value, origin.known)
    assert origin.source in row.source
    assert LIBRARY.profile("boat-us").name in row.source
    assert limit_from(mixed, LIBRARY, "securing.span_mm", "workshop") == van


@pytest.mark.parametrize("value", [-1.0, float("nan"), float("inf"), 101.0])
def test_what_is_no_limit_is_refused(value: float) -> None:
    refused(own_limit, VAN, LIBRARY, "drop.other", value, says="from 0 to 100 %")


def test_what_is_not_there_is_refused() -> None:
    refused(choose_profile, VAN, LIBRARY, "no-such", says="no standards profile no-such")
    refused(own_limit, VAN, LIBRARY, "no.rule", 1.0, says="no.rule")
    refused(limit_from, VAN, LIBRARY, "drop.other", "no-such", says="no standards profile")
    unread = next((profile.id, row.rule) for profile in LIBRARY.profiles for row in profile.limits if row.value is None)
    refused(limit_from, VAN, LIBRARY, unread[1], unread[0], says="was not read")


def test_every_rule_that_is_asked_for_has_its_words() -> None:
    told = {rule for _, rows in GROUPS for rule, _ in rows}
    assert set(REQUIRED) <= told
    for profile in LIBRARY.profiles:
        groups = grouped(profile)
        assert OTHERS not in {heading for heading, _ in groups}
        assert {row.rule for _, rows in groups for _, row in rows} == {row.rule for row in profile.limits}
