"""What drawing on the map changes in the record."""

from __future__ import annotations

import pytest

from opnote.desk.map_edits import MapEdits, Part, Tear
from opnote.pack.cache import cached_pack
from opnote.pack.pack import Pack
from opnote.reckon.fixation import stitch_positions
from opnote.record import Edit, Origin, Quantity, Record, add_row, confirm, remove_row, set_value

TEAR = "tears.r1"


def mm(value: float) -> Quantity:
    return Quantity(value, "mm")


@pytest.fixture(scope="module")
def pack() -> Pack:
    return cached_pack(("meniscal_repair",))


@pytest.fixture(scope="module")
def edits(pack: Pack) -> MapEdits:
    use = MapEdits.use_in(pack)
    assert use is not None
    return MapEdits(pack, use)


@pytest.fixture
def torn(pack: Pack, edits: MapEdits) -> Record:
    """A left knee with a bucket handle drawn from 10 to 48 mm."""
    record = set_value("side", "left", "").apply(pack.new_record())
    record = edits.new_tear("medial", 48.3, 9.8).apply(record)
    record = set_value(f"{TEAR}.pattern", "bucket_handle", "").apply(record)
    return set_value(f"{TEAR}.treatment", "repaired", "").apply(record)


def tear_in(pack: Pack, edits: MapEdits, record: Record) -> Tear:
    (tear,) = edits.tears(pack.view(record))
    return tear


def stitched(pack: Pack, edits: MapEdits, record: Record, *places: float) -> Record:
    for place in places:
        view = pack.view(record)
        edit = edits.add_stitch(view, tear_in(pack, edits, record), "inside_out", place)
        record = edit.apply(record)
    return record


def test_a_tear_that_is_drawn_has_its_ends_and_length_in_whole_millimetres(torn: Record) -> None:
    assert torn.values[f"{TEAR}.from_mm"] == mm(10)
    assert torn.values[f"{TEAR}.to_mm"] == mm(48)
    assert torn.values[f"{TEAR}.length_mm"] == mm(38)
    assert torn.values[f"{TEAR}.meniscus"] == "medial"


def test_what_was_drawn_says_so_and_asks_how_it_was_measured(pack: Pack, torn: Record) -> None:
    for name in ("from_mm", "to_mm", "length_mm"):
        assert torn.origin(f"{TEAR}.{name}") is Origin.DRAWN
    assert f"{TEAR}.measured_by" not in torn.values
    assert pack.view(torn).is_required(f"{TEAR}.measured_by")


def test_an_end_that_is_moved_takes_the_drawn_length_along(
    pack: Pack, edits: MapEdits, torn: Record
) -> None:
    torn = set_value(f"{TEAR}.measured_by", "probe", "").apply(torn)
    moved = edits.move(tear_in(pack, edits, torn), Part.END, 52.2, 0).apply(torn)
    assert moved.values[f"{TEAR}.to_mm"] == mm(52)
    assert moved.values[f"{TEAR}.length_mm"] == mm(42)
    assert f"{TEAR}.measured_by" not in moved.values


def test_a_length_that_was_typed_stays(pack: Pack, edits: MapEdits, torn: Record) -> None:
    typed = set_value(f"{TEAR}.length_mm", mm(36), "").apply(torn)
    typed = set_value(f"{TEAR}.measured_by", "probe", "").apply(typed)
    moved = edits.move(tear_in(pack, edits, typed), Part.END, 52, 0).apply(typed)
    assert moved.values[f"{TEAR}.length_mm"] == mm(36)
    assert moved.values[f"{TEAR}.measured_by"] == "probe"


@pytest.mark.parametrize(
    ("inward", "rim"),
    [(2.6, 2.5), (-3, 0), (60, 12)],  # no wider than the mean meniscus there (Biomed J 2014)
)
def test_the_rim_is_drawn_in_half_millimetres_within_the_meniscus(
    pack: Pack, edits: MapEdits, torn: Record, inward: float, rim: float
) -> None:
    moved = edits.move(tear_in(pack, edits, torn), Part.RIM, 25, inward).apply(torn)
    value = moved.values[f"{TEAR}.rim_mm"]
    assert isinstance(value, Quantity)
    assert value.amount == pytest.approx(rim, abs=0.5 if inward > 50 else 0)


@pytest.mark.parametrize(("along", "end"), [(-20, 0), (300, 99)])
def test_an_end_stays_on_the_mean_meniscus(
    pack: Pack, edits: MapEdits, torn: Record, along: float, end: int
) -> None:
    # Mean outer length of the medial meniscus 99.06 mm: Murlimanju et al., Clin Ter 2012.
    moved = edits.move(tear_in(pack, edits, torn), Part.END, along, 0).apply(torn)
    assert moved.values[f"{TEAR}.to_mm"] == mm(end)


def test_stitches_of_one_segment_share_a_row_that_holds_where_they_were_put(
    pack: Pack, edits: MapEdits, torn: Record
) -> None:
    record = stitched(pack, edits, torn, 16, 28, 22)
    (row,) = record.rows["stitches"]
    assert record.values[f"stitches.{row}.count"] == 3
    start, end = (record.values[f"stitches.{row}.{name}"] for name in ("from_mm", "to_mm"))
    assert isinstance(start, Quantity)
    assert isinstance(end, Quantity)
    assert stitch_positions(3, start.amount, end.amount) == pytest.approx((16, 22, 28))
    assert record.origin(f"stitches.{row}.count") is Origin.DRAWN


def test_a_stitch_in_another_segment_begins_a_row(
    pack: Pack, edits: MapEdits, torn: Record
) -> None:
    record = stitched(pack, edits, torn, 20, 44)
    segments = [record.values[f"stitches.{row}.segment"] for row in record.rows["stitches"]]
    # Thirds of 99.06 mm: the posterior horn ends at 33 mm.
    assert segments == ["posterior", "body"]
    assert {record.values[f"stitches.{row}.tear"] for row in record.rows["stitches"]} == {"r1"}


def test_the_stretch_of_stitches_does_not_reach_past_the_tear(
    pack: Pack, edits: MapEdits, torn: Record
) -> None:
    record = stitched(pack, edits, torn, 10, 30)
    (row,) = record.rows["stitches"]
    assert record.values[f"stitches.{row}.from_mm"] == mm(10)


def test_a_stitch_is_taken_away_where_it_is_nearest(
    pack: Pack, edits: MapEdits, torn: Record
) -> None:
    record = stitched(pack, edits, torn, 16, 22, 28)
    edit = edits.take_stitch(pack.view(record), tear_in(pack, edits, record), "inside_out", 29)
    assert isinstance(edit, Edit)
    left = edit.apply(record)
    assert edits.positions(pack.view(left), tear_in(pack, edits, left)) == pytest.approx([16, 22])


def test_the_last_stitch_leaves_a_row_without_a_number(
    pack: Pack, edits: MapEdits, torn: Record
) -> None:
    record = stitched(pack, edits, torn, 20)
    edit = edits.take_stitch(pack.view(record), tear_in(pack, edits, record), "inside_out", 20)
    assert isinstance(edit, Edit)
    left = edit.apply(record)
    (row,) = left.rows["stitches"]
    assert f"stitches.{row}.count" not in left.values
    assert left.values[f"stitches.{row}.technique"] == "inside_out"


def test_no_stitch_of_another_technique_is_taken_away(
    pack: Pack, edits: MapEdits, torn: Record
) -> None:
    record = stitched(pack, edits, torn, 20)
    tear = tear_in(pack, edits, record)
    assert edits.take_stitch(pack.view(record), tear, "all_inside", 20) is None


def test_a_row_drawn_as_a_range_still_asks_for_its_number(
    pack: Pack, edits: MapEdits, torn: Record
) -> None:
    record = edits.add_range(tear_in(pack, edits, torn), "all_inside", 32.7, 9.9).apply(torn)
    (row,) = record.rows["stitches"]
    assert record.values[f"stitches.{row}.from_mm"] == mm(10)
    assert record.values[f"stitches.{row}.to_mm"] == mm(33)
    assert f"stitches.{row}.count" not in record.values
    assert pack.view(record).is_required(f"stitches.{row}.count")


def test_a_radial_tear_has_one_place(pack: Pack, edits: MapEdits, torn: Record) -> None:
    radial = set_value(f"{TEAR}.pattern", "radial", "").apply(torn)
    tear = tear_in(pack, edits, radial)
    assert tear.parts == (Part.START, Part.RIM)
    moved = edits.move(tear, Part.START, 60, 0).apply(radial)
    assert moved.values[f"{TEAR}.from_mm"] == mm(60)


def row_of_stitches(torn: Record, **values: int | Quantity) -> Record:
    """A row of inside-out stitches in the posterior horn, with what a person typed into it."""
    said: dict[str, str | int | Quantity] = {
        "tear": "r1",
        "technique": "inside_out",
        "segment": "posterior",
        **values,
    }
    return add_row("stitches", "", said).apply(torn)


def test_a_click_leaves_alone_a_row_of_which_only_the_number_was_typed(
    pack: Pack, edits: MapEdits, torn: Record
) -> None:
    record = stitched(pack, edits, row_of_stitches(torn, count=4), 20, 26)
    typed, clicked = record.rows["stitches"]
    assert record.values[f"stitches.{typed}.count"] == 4
    assert record.origin(f"stitches.{typed}.count") is Origin.TYPED
    assert f"stitches.{typed}.from_mm" not in record.values
    assert record.values[f"stitches.{clicked}.count"] == 2


@pytest.mark.parametrize(
    ("place", "end", "origin"), [(20, 30, Origin.TYPED), (32, 32, Origin.DRAWN)]
)
def test_a_click_keeps_the_stretch_that_was_typed_and_at_most_widens_it(
    pack: Pack, edits: MapEdits, torn: Record, place: float, end: float, origin: Origin
) -> None:
    typed = row_of_stitches(torn, count=4, from_mm=mm(12), to_mm=mm(30))
    record = stitched(pack, edits, typed, place)
    (row,) = record.rows["stitches"]
    path = f"stitches.{row}"
    assert record.values[f"{path}.count"] == 5
    assert (record.values[f"{path}.from_mm"], record.values[f"{path}.to_mm"]) == (mm(12), mm(end))
    assert record.origin(f"{path}.from_mm") is Origin.TYPED
    assert record.origin(f"{path}.to_mm") is origin


def test_clicks_on_a_stretch_that_was_drawn_count_its_stitches(
    pack: Pack, edits: MapEdits, torn: Record
) -> None:
    drawn = edits.add_range(tear_in(pack, edits, torn), "inside_out", 11, 17).apply(torn)
    record = stitched(pack, edits, drawn, 14, 12)
    (row,) = record.rows["stitches"]
    path = f"stitches.{row}"
    assert record.values[f"{path}.count"] == 2
    assert (record.values[f"{path}.from_mm"], record.values[f"{path}.to_mm"]) == (mm(11), mm(17))


def test_a_tear_that_is_gone_is_not_moved(pack: Pack, edits: MapEdits, torn: Record) -> None:
    tear = tear_in(pack, edits, torn)
    without = remove_row("tears", tear.row, "").apply(torn)
    for part in Part:
        assert edits.move(tear, part, 20, 2).apply(without) == without


def test_what_goes_with_a_drawing_leaves_no_confirmation_behind(
    pack: Pack, edits: MapEdits, torn: Record
) -> None:
    record = set_value(f"{TEAR}.measured_by", "probe", "").apply(stitched(pack, edits, torn, 20))
    record = confirm([*record.values], "").apply(record)
    tear = tear_in(pack, edits, record)
    taken = edits.take_stitch(pack.view(record), tear, "inside_out", 20)
    assert taken is not None
    record = edits.move(tear, Part.END, 52, 0).apply(taken.apply(record))
    assert f"{TEAR}.measured_by" not in record.values
    assert record.confirmed <= record.values.keys()
