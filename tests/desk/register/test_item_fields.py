"""Each field of an item is told, kept, read and described: what was forgotten says where to go."""

from dataclasses import fields

import pytest

from equip import facts
from equip.desk.act.act import acting
from equip.desk.register import import_file, item_fields, items
from equip.desk.register.item_fields import FIELDS, NewItem, read_item
from equip.store.readings import item_rows
from equip.store.readings.item_rows import ItemRow
from equip.store.schema.rebuilt import Item
from tests.support.playing import Play

COLUMNS = [
    name for name in Item._meta.sorted_field_names if name not in ("tag", "site", "type", "added")
]
DESCRIBED = {field.name: field for field in FIELDS}
SHOWN = [field.name for field in FIELDS if field.shown]
NOT_FIELDS_OF_THE_FACT = {"tag": "item", "old_name": "aliases", "set": ""}


@pytest.mark.parametrize("name", COLUMNS)
def test_what_is_kept_of_an_item_is_told_when_it_comes_on_the_register(name: str) -> None:
    told = facts.ItemAdded.__struct_fields__

    assert name in told, f"tell “{name}” in equip/facts/register.py, ItemAdded, with a default"


@pytest.mark.parametrize("name", COLUMNS)
def test_what_is_kept_of_an_item_is_read(name: str) -> None:
    read = [column.name for column in fields(ItemRow)]

    assert name in read, f"read “{name}” in equip/store/readings/item_rows.py, ItemRow"


@pytest.mark.parametrize("name", COLUMNS)
def test_what_is_kept_of_an_item_is_asked_for_and_shown(name: str) -> None:
    assert name in DESCRIBED and DESCRIBED[name].shown, (
        f"describe “{name}” in equip/desk/register/item_fields.py, FIELDS, with where it is shown"
    )


@pytest.mark.parametrize("name", SHOWN)
def test_what_is_shown_of_an_item_is_kept(name: str) -> None:
    assert name in COLUMNS, (
        f"keep “{name}”: a column of Item in equip/store/schema/rebuilt.py, and a migration"
    )


@pytest.mark.parametrize("name", DESCRIBED)
def test_what_the_register_asks_for_is_told(name: str) -> None:
    told = NOT_FIELDS_OF_THE_FACT.get(name, name)

    assert not told or told in facts.ItemAdded.__struct_fields__, (
        f"tell “{name}” in equip/facts/register.py, ItemAdded, with a default"
    )


def new_item(play: Play, **texts: str) -> NewItem:
    given = {"type": "hook", "arrival": "factory-new", **texts}
    new, problems = read_item(given, play.clinic.house, play.clinic.store)
    assert problems == []
    assert new is not None
    return new


def test_all_that_is_kept_is_read_back_as_it_was_given(play: Play) -> None:
    given = {name: f"its {name}" for name in COLUMNS}
    with acting(play.clinic, by=play.people["manager"]) as act:
        tag = item_fields.put(act, new_item(play, **given))

    row = item_rows.item_row(play.clinic.store, tag)

    assert row == ItemRow(tag, "hook", **given)
    assert row in item_rows.items(play.clinic.store)


def test_a_pack_is_kept_by_its_tag_alone(play: Play) -> None:
    pack = play.sterile_pack(play.add("steriliser-vacuum"), play.add("hook"))

    assert item_rows.item_row(play.clinic.store, pack) == ItemRow(pack, "pack")


def test_the_form_and_the_file_read_a_type_and_a_place_by_name_or_by_code(play: Play) -> None:
    room = play.places["room"]
    name = play.clinic.house.places[room].name

    by_name = new_item(play, type="HOOK", arrival="Factory new", place=name.upper())
    by_code = new_item(play, place=room)

    assert by_name == by_code
    assert (by_code.kind.code, by_code.told["place"]) == ("hook", room)


def test_everything_that_is_wrong_is_said_at_once(play: Play) -> None:
    hook, machine = play.add("hook"), play.add("suction-pump")
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.add_item(act, act.house.types["hook"], "factory-new", aliases=("H-17",))
    texts = {"type": "hook", "arrival": "by post", "place": "moon", "old_name": "H-17", "set": hook}

    new, problems = read_item(texts, play.clinic.house, play.clinic.store)
    _, wrong_letter = read_item(
        {"type": "hook", "tag": machine}, play.clinic.house, play.clinic.store
    )
    _, taken = read_item({"type": "hook", "tag": hook}, play.clinic.house, play.clinic.store)
    _, damaged = read_item({"type": "hook", "tag": "E12"}, play.clinic.house, play.clinic.store)

    assert new is None
    assert [says.split(":")[0] for says in problems] == [
        "“by post” is no way to arrive",
        "“moon” is no place of this book",
        "“H-17” is the old name of something on the register already.",
        f"“{hook}” is no set on the register",
    ]
    assert "is no tag for hook: it needs E" in wrong_letter[-1]
    assert "is on the register already" in taken[-1]
    assert damaged


def test_an_untagged_type_is_not_put_on_the_register(play: Play) -> None:
    untagged = next(kind for kind in play.clinic.house.types.values() if not kind.tagged)

    _, problems = read_item(
        {"type": untagged.code, "arrival": "loaned"}, play.clinic.house, play.clinic.store
    )

    assert problems == [f"{untagged.name} carries no tag: it is known by the pack it is in."]


def test_a_file_has_a_column_for_each_field_and_takes_in_all_of_them(play: Play) -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        tray = items.add_item(act, act.house.types["set"], "factory-new", aliases=("tray 1",))
    cells = {
        "type": "hook",
        "arrival": "factory-new",
        "name": "90°",
        "serial": "S-1",
        "place": play.places["room"],
        "old_name": "H-18",
        "set": "tray 1",
    }
    line = ",".join(cells.get(name, "") for name in import_file.COLUMNS)
    data = f"{','.join(import_file.COLUMNS)}\n{line}\n".encode()

    found = import_file.read_register(data, play.clinic.house, play.clinic.store)
    with acting(play.clinic, by=play.people["manager"]) as act:
        (tag,) = import_file.take_in(act, found.rows)

    assert found.problems == ()
    assert item_rows.item_row(play.clinic.store, tag) == ItemRow(tag, "hook", "90°", "S-1")
    assert item_rows.aliased(play.clinic.store, "H-18") == tag
    standing, set_standing = (item_rows.standing_of(play.clinic.store, one) for one in (tag, tray))
    assert standing is not None and standing.place == play.places["room"]
    assert set_standing is not None and set_standing.members == (tag,)
