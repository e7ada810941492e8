"""What has changed since a patient was given the risk sheet."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date

import pytest

from opnote.assess import assess
from opnote.compose import compose
from opnote.compose.document import sentence_text
from opnote.pack.case import RecordError, case_text, read_case
from opnote.pack.files import shipped_root
from opnote.pack.given import changes_since_given, give_sheet, missing_of_sheet
from opnote.pack.loader import load_pack
from opnote.pack.pack import Pack
from opnote.record import Record, Told, clear_value, give_reason, set_value

GIVEN_ON = date(2026, 3, 6)


@pytest.fixture(scope="module")
def pack() -> Pack:
    """The shipped forms."""
    return load_pack(("meniscal_repair",))


@pytest.fixture
def given(pack: Pack) -> Record:
    """The first demo case, whose sheet was given once, three days before."""
    text = (shipped_root() / "forms/samples/case_a.json").read_text(encoding="utf-8")
    record, _ = read_case(text, "case_a", lambda procedures: pack)
    record = record.with_changes(given={})
    return give_sheet(pack, pack.view(record), GIVEN_ON).apply(record)


def said(pack: Pack, record: Record) -> str:
    view = pack.view(record)
    document = compose(pack, view, assess(pack, view), "risk_sheet")
    return "\n".join(sentence_text(sentence) for sentence in document.sentences())


def findings(pack: Pack, record: Record) -> list[str]:
    found = assess(pack, pack.view(record)).open
    return [finding.message for finding in found if finding.id == "given:risk_sheet"]


def test_a_sheet_that_still_holds_says_when_it_was_given(pack: Pack, given: Record) -> None:
    text = said(pack, given)
    assert "You were given this sheet on 6 March 2026, with figures of edition 2026.2." in text
    assert "Changed since" not in text
    assert findings(pack, given) == []


def test_what_changed_is_said_on_the_sheet_and_asked_at_the_desk(pack: Pack, given: Record) -> None:
    changed = set_value("planned.treatment", "resection", "change").apply(given)
    text = said(pack, changed)
    assert "Changed since you were given this sheet" in text
    assert (
        "it was repair if possible, otherwise partial resection (cutting away the torn part); "
        "it is now partial resection"
    ) in text
    (message,) = findings(pack, changed)
    assert message.startswith("Since the risk sheet was given on 6 March 2026 the plan has changed")
    told = give_reason("given:risk_sheet", "told on the ward", "explain").apply(changed)
    assert findings(pack, told) == []


def test_what_is_no_longer_planned_is_a_change_too(pack: Pack, given: Record) -> None:
    (change,) = changes_since_given(
        pack, pack.view(clear_value("consent.operator", "clear").apply(given))
    )
    assert (change.label, change.before, change.now) == (
        "Operator named",
        "Miss Q. Larkspindle",
        "not recorded",
    )


def test_giving_it_again_settles_it_and_what_is_not_told_changes_nothing(
    pack: Pack, given: Record
) -> None:
    changed = set_value("planned.treatment", "resection", "change").apply(given)
    again = give_sheet(pack, pack.view(changed), date(2026, 3, 9)).apply(changed)
    assert findings(pack, again) == []
    assert "on 9 March 2026" in said(pack, again)
    # The first time stays on record.
    assert [each.on for each in again.given["risk_sheet"]] == [GIVEN_ON, date(2026, 3, 9)]
    other = set_value("planned.matters", "To dance.", "change").apply(given)
    assert changes_since_given(pack, pack.view(other)) == ()


def test_a_case_file_keeps_it(pack: Pack, given: Record) -> None:
    text = case_text(given, pack.form)
    read, _ = read_case(text, "case", lambda procedures: pack)
    assert read.given == given.given
    wrong = text.replace('"on": "2026-03-06"', '"on": "6 March"')
    with pytest.raises(
        RecordError, match=r'given.risk_sheet.*on: "6 March" is no date; write year-month-day'
    ):
        read_case(wrong, "case", lambda procedures: pack)


def open_ids(pack: Pack, record: Record) -> set[str]:
    return {f.id for f in assess(pack, pack.view(record)).open if f.id.startswith("given:")}


def test_a_consent_that_names_the_sheet_wants_its_giving_recorded(
    pack: Pack, given: Record
) -> None:
    never = given.with_changes(given={})
    assert open_ids(pack, never) == {"given:not_recorded"}
    why = give_reason("given:not_recorded", "given on paper in the clinic", "explain").apply(never)
    assert open_ids(pack, why) == set()
    leaflet = set_value("consent.information", ("leaflet",), "change").apply(never)
    assert open_ids(pack, leaflet) == set()


def test_a_giving_that_the_consent_does_not_name_is_asked_for(pack: Pack, given: Record) -> None:
    leaflet = set_value("consent.information", ("leaflet",), "change").apply(given)
    assert open_ids(pack, leaflet) == {"given:not_to_read"}


@pytest.mark.parametrize(
    ("on", "found"),
    [
        # The talk was on 6 March 2026, the decision on 7 March, the operation on 9 March.
        (date(2026, 3, 7), set()),
        (date(2026, 3, 8), {"given:after_decision"}),
        (date(2026, 3, 9), {"given:after_decision"}),
        (date(2026, 3, 10), {"given:too_late"}),
    ],
)
def test_the_day_of_giving_is_held_against_the_other_days(
    pack: Pack, given: Record, on: date, found: set[str]
) -> None:
    record = given.with_changes(given={})
    assert open_ids(pack, give_sheet(pack, pack.view(record), on).apply(record)) == found


def test_without_a_day_of_decision_the_day_of_the_talk_counts(pack: Pack, given: Record) -> None:
    record = clear_value("consent.decided_on", "clear").apply(given.with_changes(given={}))
    late = give_sheet(pack, pack.view(record), date(2026, 3, 7)).apply(record)
    assert open_ids(pack, late) == {"given:after_decision"}


def test_a_question_that_is_no_longer_asked_is_not_called_unrecorded(
    pack: Pack, given: Record
) -> None:
    resected = set_value("planned.treatment", "resection", "change").apply(given)
    now = {change.path: change.now for change in changes_since_given(pack, pack.view(resected))}
    assert now["planned.techniques"] == "no longer planned"
    assert "it is now not recorded" not in said(pack, resected)
    (sheet,) = given.given["risk_sheet"][-1:]
    older = replace(sheet, said={**sheet.said, "planned.robot": Told('"yes"', "with a robot")})
    record = given.with_changes(given={"risk_sheet": (older,)})
    (change,) = changes_since_given(pack, pack.view(record))
    assert (change.before, change.now) == ("with a robot", "no longer asked")


def test_a_sheet_is_not_ready_while_what_it_tells_of_the_plan_is_missing(
    pack: Pack, given: Record
) -> None:
    assert missing_of_sheet(pack, pack.view(given)) == ()
    unplanned = clear_value("planned.treatment", "clear").apply(given)
    assert missing_of_sheet(pack, pack.view(unplanned)) == ("Planned for the tear",)
    assert len(missing_of_sheet(pack, pack.view(pack.new_record()))) > 5


@pytest.mark.parametrize(
    ("rules", "title"),
    [
        ("uk", "Consent record, United Kingdom"),
        ("us", "Consent record, US minimum"),
        ("us_well", "Consent record, US well-designed form"),
    ],
)
def test_a_gap_names_the_rules_that_were_chosen_and_no_other(
    pack: Pack, given: Record, rules: str, title: str
) -> None:
    record = set_value("consent.rules", rules, "change").apply(given)
    record = clear_value("consent.signed_at", "clear").apply(record)
    found = {f.id: f.source for f in assess(pack, pack.view(record)).findings}
    assert found["gap:consent.signed_at"] == title


def test_givings_stand_in_the_order_of_their_days(pack: Pack, given: Record) -> None:
    earlier = give_sheet(pack, pack.view(given), date(2026, 2, 27)).apply(given)
    assert [each.on for each in earlier.given["risk_sheet"]] == [date(2026, 2, 27), GIVEN_ON]
    backward = json.loads(case_text(earlier, pack.form))
    backward["given"]["risk_sheet"].reverse()
    again, _ = read_case(json.dumps(backward), "c.json", lambda names: pack)
    assert again.given == earlier.given
